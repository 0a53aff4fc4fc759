//! Why a check ends without findings.

/// Why there are no findings.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum CheckError {
    /// The stop test said so.
    #[error("the check was stopped")]
    Stopped,
    /// More combinations than the engine takes.
    #[error("{count} combinations of load cases, at most {limit} can be checked")]
    TooManyCombinations {
        /// How many there would be.
        count: u64,
        /// How many are taken.
        limit: u64,
    },
    /// The equations would take too long: counted from their pattern before any number is computed.
    #[error(
        "this frame's equations need about {operations:.0e} operations, at most {limit:.0e} are allowed; so many members \
         are tied to one another: leave out joints or split the frame"
    )]
    TooCostly {
        /// Predicted operations of one factorisation.
        operations: f64,
        /// Limit.
        limit: f64,
    },
    /// The equations would take more memory than the caller allows.
    #[error("this frame needs about {needed_mb} MB to compute, at most {limit_mb} MB are allowed")]
    TooLarge {
        /// Predicted need.
        needed_mb: u64,
        /// Limit.
        limit_mb: u64,
    },
}
