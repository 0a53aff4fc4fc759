//! What keeps a frame from being computed, in a builder's words, and what would mend it.

use super::figures;
use super::words::list;
use battenboard_engine::findings::{Fault, Motion};

/// Upright part of a unit vector up to which a direction is said to be level.
const LEVEL: f64 = 0.3;
/// Part of a unit vector from which a direction is said to run along that axis (within about 18 degrees).
const ALONG: f64 = 0.95;

/// A fault in a sentence without a full stop, and what would mend it.
pub fn fault(fault: &Fault) -> (String, String) {
    match fault {
        Fault::Mechanism { members, motion, direction } => {
            let words = Moving { members, motion: *motion, direction: *direction };
            (words.freely(), words.mend())
        }
        Fault::NearMechanism { members, motion, direction, frequency_hz, buckling_factor, combination } => {
            let words = Moving { members, motion: *motion, direction: *direction };
            let how = near(*frequency_hz, *buckling_factor, combination);
            (format!("{}{how}", words.hardly()), words.mend())
        }
        Fault::Disconnected { members } => (
            format!("{} {} held by nothing: no joint leads to the vehicle", list(members, 4), is_are(members.len())),
            "join it to a member that is held, or give it an anchor".into(),
        ),
        Fault::Gap { on, member, gap_mm } => (
            format!("{member} does not reach {on}: {} of air lie between them", figures::sag(*gap_mm)),
            format!("lengthen or move {on} or {member} by {}", figures::sag(*gap_mm)),
        ),
        Fault::Contradiction { anchor } => (
            format!("the movement written at {anchor} can't happen together with those of the other anchors"),
            format!("look at the settlement of {anchor}: a stiff frame can't follow it"),
        ),
        Fault::IllConditioned { stiffest, softest, condition } => (
            format!("{stiffest} is too much stiffer than {softest} to compute with (condition {condition:.0e})"),
            "look at their sizes and springs: one of them is probably wrong by a unit".into(),
        ),
    }
}

/// How near it is to moving freely, as the end of the sentence.
fn near(frequency_hz: Option<f64>, buckling_factor: Option<f64>, combination: &str) -> String {
    let mut text = String::new();
    if let Some(hz) = frequency_hz {
        text.push_str(&format!("; with everything aboard it sways only {} times a second", figures::cut(hz)));
    }
    if let Some(factor) = buckling_factor {
        text.push_str(&format!("; it folds at {} times its loads", figures::cut(factor)));
        if !combination.is_empty() {
            text.push_str(&format!(" ({combination})"));
        }
    }
    text
}

/// A motion that nothing, or hardly anything, resists.
struct Moving<'f> {
    members: &'f [String],
    motion: Motion,
    direction: [f64; 3],
}

impl Moving<'_> {
    fn who(&self) -> String {
        list(self.members, 4)
    }

    /// Nothing resists it.
    fn freely(&self) -> String {
        let who = self.who();
        match (self.motion, way(self.direction)) {
            (Motion::Slide, way) => {
                format!("{who} can slide {}: nothing holds {} that way", way.along(), it_them(self.members.len()))
            }
            (Motion::Turn, way) => format!("{who} can turn about a line {}: nothing stops it", way.line()),
            (Motion::Fold, Way::Up) => format!("{who} can fold up and down: nothing is stiff against it"),
            (Motion::Fold, way) => format!("nothing stiffens {who} {}: {}", way.sideways(), way.leaning()),
        }
    }

    /// Something resists it, far too little.
    fn hardly(&self) -> String {
        let who = self.who();
        match (self.motion, way(self.direction)) {
            (Motion::Slide, way) => format!("hardly anything keeps {who} from sliding {}", way.along()),
            (Motion::Turn, way) => format!("hardly anything keeps {who} from turning about a line {}", way.line()),
            (Motion::Fold, Way::Up) => format!("hardly anything keeps {who} from folding up and down"),
            (Motion::Fold, way) => format!("hardly anything stiffens {who} {}: {}", way.sideways(), way.leaning()),
        }
    }

    fn mend(&self) -> String {
        match (self.motion, way(self.direction)) {
            (Motion::Slide, way) => {
                let they = if self.members.len() == 1 { "it" } else { "they" };
                format!("fix {} so that {they} can't move {}", one_of(self.members), way.along())
            }
            (Motion::Turn, _) => {
                format!("hold {} at a second place, or by a joint that does not turn", one_of(self.members))
            }
            (Motion::Fold, Way::Up) => {
                format!("put a post under {}, or make the joint that folds a stiff one", one_of(self.members))
            }
            (Motion::Fold, way) => format!("add a brace, a panel or a wall fixing that holds it {}", way.plainly()),
        }
    }
}

/// A direction in the words of the vehicle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Way {
    Lengthways,
    Crossways,
    /// Level, between lengthways and crossways.
    Sideways,
    Up,
    Aslant,
}

fn way(direction: [f64; 3]) -> Way {
    let [x, y, z] = direction.map(f64::abs);
    if x >= ALONG {
        Way::Lengthways
    } else if y >= ALONG {
        Way::Crossways
    } else if z >= ALONG {
        Way::Up
    } else if z <= LEVEL {
        Way::Sideways
    } else {
        Way::Aslant
    }
}

impl Way {
    fn along(self) -> &'static str {
        match self {
            Self::Lengthways => "along the vehicle",
            Self::Crossways => "across the vehicle",
            Self::Sideways => "sideways",
            Self::Up => "up and down",
            Self::Aslant => "aslant",
        }
    }

    fn line(self) -> &'static str {
        match self {
            Self::Lengthways => "that runs along the vehicle",
            Self::Crossways => "that runs across the vehicle",
            Self::Up => "that stands upright",
            Self::Sideways | Self::Aslant => "that runs aslant",
        }
    }

    fn plainly(self) -> &'static str {
        match self {
            Self::Lengthways => "lengthways",
            Self::Crossways => "crossways",
            Self::Sideways => "sideways",
            Self::Up => "up and down",
            Self::Aslant => "aslant",
        }
    }

    /// With the plane in the vehicle's axes, for who draws it.
    fn sideways(self) -> String {
        match self {
            Self::Lengthways => "lengthways (plane x-z)".into(),
            Self::Crossways => "crossways (plane y-z)".into(),
            other => other.plainly().into(),
        }
    }

    fn leaning(self) -> &'static str {
        match self {
            Self::Lengthways | Self::Crossways | Self::Sideways => "posts and rails can lean over like a parallelogram",
            Self::Up | Self::Aslant => "its joints fold",
        }
    }
}

fn is_are(count: usize) -> &'static str {
    if count == 1 { "is" } else { "are" }
}

fn it_them(count: usize) -> &'static str {
    if count == 1 { "it" } else { "them" }
}

fn one_of(members: &[String]) -> String {
    match members {
        [only] => only.clone(),
        [first, ..] => format!("{first} or what it is joined to"),
        [] => "it".into(),
    }
}

#[cfg(test)]
#[path = "faults_tests.rs"]
mod tests;
