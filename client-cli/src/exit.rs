//! How the command ends: one number for each kind of answer, so that a script can tell them apart.

use battenboard_engine::findings::Verdict;

/// Exit codes of `batten`; stable, and stated in its help.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u8)]
pub enum Exit {
    /// It holds (only just included), or the verb did what was asked.
    Holds = 0,
    /// A check falls short.
    FallsShort = 1,
    /// Not checked, or it can't be computed.
    NotChecked = 2,
    /// Wrong usage, or the file can't be read.
    Usage = 3,
    /// The server or the network failed.
    Server = 4,
    /// Not signed in, or not allowed.
    NotAllowed = 5,
    /// Someone else submitted first.
    SomeoneElse = 6,
}

impl Exit {
    /// The number the shell sees.
    pub fn code(self) -> u8 {
        self as u8
    }
}

impl From<Verdict> for Exit {
    fn from(verdict: Verdict) -> Self {
        match verdict {
            Verdict::Holds | Verdict::Near => Self::Holds,
            Verdict::FallsShort => Self::FallsShort,
            Verdict::NotChecked => Self::NotChecked,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_numbers_are_the_documented_ones() {
        let all = [
            Exit::Holds,
            Exit::FallsShort,
            Exit::NotChecked,
            Exit::Usage,
            Exit::Server,
            Exit::NotAllowed,
            Exit::SomeoneElse,
        ];
        assert_eq!(all.map(Exit::code), [0, 1, 2, 3, 4, 5, 6]);
        assert_eq!(Exit::from(Verdict::Near), Exit::Holds);
    }
}
