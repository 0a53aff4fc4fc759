//! What became of a proof load on a frame: figures and codes, no words.

use crate::design::Vector;
use crate::findings::Check;
use serde::{Deserialize, Serialize};

/// The result of one proof load on one frame. The serde form is stored with results and shown by `--json`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ProofResult {
    /// How it ended.
    pub outcome: ProofOutcome,
    /// Why it cannot be run; only then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reason: Option<Reason>,
    /// Where the load stands in the vehicle, mm; unset where its target is gone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub point_mm: Option<Vector>,
    /// How far it gives way.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sag: Option<ProofSag>,
    /// The check that uses most of what it can carry, of all that feel the load; unset where no strength is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub governing: Option<Check>,
    /// Tags of members and decks that feel it and whose strength is not known.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub not_judged: Vec<String>,
}

/// How a proof load ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ProofOutcome {
    /// Within all its limits.
    Passed,
    /// Beyond one.
    Failed,
    /// It could not be run, which is no pass.
    CannotBeRun,
}

/// Why a proof load cannot be run.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Reason {
    /// The frame has no such member or deck.
    TargetGone {
        /// Its tag.
        tag: String,
    },
    /// The place lies beyond the member's end.
    BeyondEnd {
        /// Its tag.
        tag: String,
        /// Its length.
        length_mm: f64,
    },
    /// The point is not on the deck.
    OffDeck {
        /// Its tag.
        tag: String,
    },
    /// It moves freely: nothing holds it against the load.
    TargetMoves {
        /// Its tag.
        tag: String,
    },
    /// Something that carries it cannot be computed.
    CarrierOpen {
        /// Tag of that member.
        tag: String,
    },
    /// A limit of utilisation was asked of something whose strength is not known.
    StrengthUnknown {
        /// Its tag.
        tag: String,
    },
    /// A deck whose stiffness is not known.
    StiffnessUnknown {
        /// Its tag.
        tag: String,
    },
    /// More than the engine or the server takes. Set by who runs it.
    TooLarge,
    /// It took longer than allowed. Set by who runs it.
    TooLong,
    /// The engine or the stored design failed. Set by who runs it.
    NotComputed,
}

/// How far the loaded place and its member move in the direction of the force, from where they were drawn: bending,
/// shear, joints and supports together, own weight in it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ProofSag {
    /// Of the place; on a deck that of the members under it there and the greatest of the deck's strip between them.
    pub at_place_mm: f64,
    /// Greatest anywhere on the member, or on those that the deck's load lies on.
    pub greatest_mm: f64,
    /// Tag of the member with the greatest; of the deck where its place sags more.
    pub greatest_tag: String,
    /// Place of the greatest along that member from its marked end, mm; 0 for a deck.
    pub greatest_at_mm: f64,
}

impl ProofResult {
    /// One that could not be run.
    pub fn cannot(reason: Reason, point_mm: Option<Vector>) -> Self {
        let (outcome, reason) = (ProofOutcome::CannotBeRun, Some(reason));
        Self { outcome, reason, point_mm, sag: None, governing: None, not_judged: Vec::new() }
    }

    /// The greatest utilisation.
    pub fn utilisation(&self) -> Option<f64> {
        self.governing.as_ref().map(|check| check.utilisation)
    }
}
