//! A proof load as it is stated: where it stands, how hard it presses, and what it may do at most.

use crate::design::Vector;
use crate::design::vector::norm;
use crate::design::{Action, Violation};
use crate::findings::LimitState;
use crate::tables::factors::Duration;
use serde::{Deserialize, Serialize};

/// Patch of somebody who stands on a deck, along x and along y, mm: two feet side by side (P).
pub const STANDING_PATCH_MM: [f64; 2] = [250.0, 250.0];
/// Heaviest mass, kg: no vehicle of this kind carries as much.
pub const MASS_MAX_KG: f64 = 10_000.0;
/// Greatest force, N.
pub const FORCE_MAX_N: f64 = 100_000.0;
/// Greatest sag that can be allowed, mm.
pub const SAG_MAX_MM: f64 = 1_000.0;
/// Smallest and largest side of a patch, mm.
pub const PATCH_MM: [f64; 2] = [10.0, 3_000.0];

/// A load to be proved, with its limits. One of the limits must be stated; whatever is stated, nothing may be used
/// beyond what it carries (utilisation 1).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ProofLoad {
    /// Where it stands.
    pub target: Target,
    /// How hard it presses; characteristic, own weight not in it.
    pub press: Press,
    /// Most sag of the place in mm: how far it moves in the direction of the force, own weight in it, from where it was
    /// drawn.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most_sag_mm: Option<f64>,
    /// Most utilisation of anything that feels it, over 0, at most 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most_utilisation: Option<f64>,
    /// Which sag.
    #[serde(default)]
    pub sag: SagWhen,
    /// How long it stays.
    #[serde(default)]
    pub lasts: Lasts,
}

/// What a proof load stands on.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Target {
    /// A place of a member.
    Member {
        /// Its tag.
        tag: String,
        /// Distance from its marked end, mm.
        at_mm: f64,
    },
    /// A point of a deck.
    Deck {
        /// Its tag.
        tag: String,
        /// x and y in the vehicle, mm.
        at_mm: [f64; 2],
        /// Sizes of the patch along x and y, mm; [`STANDING_PATCH_MM`] where nothing is said.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        patch_mm: Option<[f64; 2]>,
    },
}

/// How hard a proof load presses.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Press {
    /// A mass that stands there, kg.
    Mass(f64),
    /// A force, N, vehicle axes.
    Force(Vector),
}

/// Which sag a limit is for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SagWhen {
    /// At once, under characteristic loads (EN 1990 6.14b).
    #[default]
    #[serde(rename = "instant")]
    AtOnce,
    /// In the end, with creep (EN 1995-1-1 2.2.3).
    Final,
}

impl SagWhen {
    /// The limit state it is asked in.
    pub fn limit_state(self) -> LimitState {
        match self {
            Self::AtOnce => LimitState::SagInstant,
            Self::Final => LimitState::SagFinal,
        }
    }
}

/// How long a proof load stays (EN 1995-1-1 table 2.1). What stays for ever belongs into the design.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Lasts {
    /// Six months to ten years: storage.
    Long,
    /// A week to six months: lying.
    Medium,
    /// Under a week: standing, sitting, kneeling, climbing.
    #[default]
    Short,
    /// Moments.
    Instantaneous,
}

impl Lasts {
    /// Its class.
    pub fn duration(self) -> Duration {
        match self {
            Self::Long => Duration::Long,
            Self::Medium => Duration::Medium,
            Self::Short => Duration::Short,
            Self::Instantaneous => Duration::Instantaneous,
        }
    }

    /// The kind of action whose share that lasts (psi_2) it has: storage 0.8, people 0.3.
    pub fn action(self) -> Action {
        match self {
            Self::Long => Action::Stowage,
            Self::Medium => Action::Lying,
            Self::Short | Self::Instantaneous => Action::Moving,
        }
    }
}

impl Target {
    /// Its tag.
    pub fn tag(&self) -> &str {
        match self {
            Self::Member { tag, .. } | Self::Deck { tag, .. } => tag,
        }
    }
}

impl ProofLoad {
    /// What is wrong with it, whatever the frame: paths are field names of the wire.
    pub fn faults(&self) -> Vec<Violation> {
        let mut faults = Vec::new();
        self.press_faults(&mut faults);
        self.place_faults(&mut faults);
        let mut limit = |name: &str, value: Option<f64>, most: f64, unit: &str| {
            // Written so that what is no number is refused too.
            if value.is_some_and(|value| !(value > 0.0 && value <= most)) {
                let message = format!("a limit of {}{unit} cannot be asked", value.unwrap_or_default());
                faults.push(Violation::new(name, message).mend(format!("over 0, at most {most}{unit}")));
            }
        };
        limit("most_sag_mm", self.most_sag_mm, SAG_MAX_MM, " mm");
        limit("most_utilisation", self.most_utilisation, 1.0, "");
        if self.most_sag_mm.is_none() && self.most_utilisation.is_none() {
            let fault = Violation::new("most_sag_mm", "a proof load needs a limit");
            faults.push(fault.mend("say the most sag, the most utilisation, or both"));
        }
        faults
    }

    fn press_faults(&self, faults: &mut Vec<Violation>) {
        match self.press {
            Press::Mass(mass_kg) if !(mass_kg > 0.0 && mass_kg <= MASS_MAX_KG) => {
                let fault = Violation::new("mass_kg", format!("a mass of {mass_kg} kg cannot stand anywhere"));
                faults.push(fault.mend(format!("over 0, at most {MASS_MAX_KG} kg")));
            }
            Press::Force(force) if !(norm(force) > 0.0 && norm(force) <= FORCE_MAX_N) => {
                let fault = Violation::new("force", format!("a force of {} N cannot be proved", norm(force)));
                faults.push(fault.mend(format!("over 0, at most {FORCE_MAX_N} N")));
            }
            Press::Force([x, y, z])
                if matches!(self.target, Target::Deck { .. }) && !(x == 0.0 && y == 0.0 && z < 0.0) =>
            {
                let fault = Violation::new("force", "a deck is only proved with a load straight down");
                faults.push(fault.mend("put a force in another direction on a member under it"));
            }
            Press::Mass(_) | Press::Force(_) => {}
        }
    }

    fn place_faults(&self, faults: &mut Vec<Violation>) {
        let numbers: &[f64] = match &self.target {
            Target::Member { at_mm, .. } => std::slice::from_ref(at_mm),
            Target::Deck { at_mm, patch_mm, .. } => {
                let sound = |side: &f64| *side >= PATCH_MM[0] && *side <= PATCH_MM[1];
                if let Some([x, y]) = patch_mm.filter(|sides| !sides.iter().all(sound)) {
                    let message = format!("a patch of {x} x {y} mm is none that somebody stands on");
                    let mend = format!("sides from {} to {} mm", PATCH_MM[0], PATCH_MM[1]);
                    faults.push(Violation::new("patch", message).mend(mend));
                }
                at_mm
            }
        };
        if numbers.iter().any(|number| !number.is_finite()) {
            faults.push(Violation::new("place", "the place is no number"));
        }
    }
}
