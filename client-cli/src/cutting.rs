//! The cutting stamp, concessions and as-built records as the command shows them; free of the wire's types.

use battenboard_engine::findings::CheckKind;
use serde::Serialize;

/// The word that a revision is the one to cut.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Stamp {
    /// Letter of the revision.
    pub letter: String,
    /// Who issued it.
    pub issued_by: String,
    /// When, microseconds of Unix time.
    pub issued_us: i64,
    /// Why it was issued though something stood in the way; empty: nothing did.
    pub override_reason: String,
    /// What stood in the way.
    pub overridden: Vec<String>,
    /// When it was taken back, microseconds of Unix time.
    pub taken_back_us: Option<i64>,
    /// Who took it back.
    pub taken_back_by: String,
    /// Why.
    pub take_back_reason: String,
    /// True where another revision was issued since.
    pub superseded: bool,
    /// True where a later engine finds that it falls short.
    pub falls_short_now: bool,
}

/// Something that stands in the way of cutting.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Obstacle {
    /// Which kind of thing, in the server's word, e.g. `SNAG_OPEN`.
    pub kind: String,
    /// Of what.
    pub subject: String,
    /// In words.
    pub said: String,
    /// What would mend it.
    pub mend: String,
}

/// A finding accepted as it is.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Concession {
    /// Letter of the revision.
    pub letter: String,
    /// Member or deck.
    pub tag: String,
    /// What of it.
    pub check: CheckKind,
    /// The utilisation that was accepted; `None` where the server keeps its figures from whoever asks.
    pub utilisation: Option<f64>,
    /// Why.
    pub reason: String,
    /// The keeper who signed it.
    pub account: String,
    /// When, microseconds of Unix time.
    pub at_us: i64,
    /// True where a later engine finds a greater utilisation.
    pub lapsed: bool,
}

/// A mass on the scales.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MeasuredMass {
    /// `the frame`, or the stock's or kind's name.
    pub what: String,
    /// What the scales said, kg.
    pub mass_kg: f64,
    /// What was computed, kg.
    pub computed_kg: Option<f64>,
}

/// A sag under a known mass.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MeasuredSag {
    /// Member.
    pub tag: String,
    /// Place along it from its start, mm.
    pub at_mm: f64,
    /// The mass that was put there, kg.
    pub load_kg: f64,
    /// How much further it sagged, mm.
    pub sag_mm: f64,
    /// What was computed, mm.
    pub computed_mm: Option<f64>,
}

/// What was built and measured.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AsBuilt {
    /// Letter of the revision.
    pub letter: String,
    /// Who recorded it.
    pub account: String,
    /// When, microseconds of Unix time.
    pub at_us: i64,
    /// What was built otherwise than drawn.
    pub note: String,
    /// Masses.
    pub masses: Vec<MeasuredMass>,
    /// Sags.
    pub sags: Vec<MeasuredSag>,
}
