//! Codes become words here and nowhere else: checks, faults, assumptions, what is not checked, mends.

use super::figures;
use battenboard_engine::findings::{
    Assumption, AssumptionCode, Check, CheckKind, LimitState, Mend, Unchecked, Verdict,
};

/// The verdict as a sentence of its own.
pub fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Holds => "Holds.",
        Verdict::Near => "Holds, but only just.",
        Verdict::NotChecked => "Not checked.",
        Verdict::FallsShort => "Falls short.",
    }
}

/// In the place of a verdict that the server keeps from whoever asks.
pub const WITHHELD: &str = "withheld";

/// The verdict as a word in a table.
pub fn verdict_word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Holds => "holds",
        Verdict::Near => "near",
        Verdict::NotChecked => "not checked",
        Verdict::FallsShort => "falls short",
    }
}

/// True for the checks whose demand is a sag in mm.
pub fn is_sag(kind: CheckKind) -> bool {
    match kind {
        CheckKind::SagInstant | CheckKind::SagFinal | CheckKind::SagStated | CheckKind::DeckSag => true,
        CheckKind::TensionBending
        | CheckKind::CompressionBending
        | CheckKind::Bending
        | CheckKind::Shear
        | CheckKind::Column
        | CheckKind::DeckBending
        | CheckKind::DeckShear
        | CheckKind::Torsion
        | CheckKind::LateralBuckling
        | CheckKind::Bearing
        | CheckKind::Notch
        | CheckKind::Hole
        | CheckKind::Sway
        | CheckKind::FrameBuckling
        | CheckKind::Frequency => false,
    }
}

/// True for the checks of the frame as a whole, whose sentence needs no place.
pub fn is_of_the_whole(kind: CheckKind) -> bool {
    matches!(kind, CheckKind::Sway | CheckKind::FrameBuckling | CheckKind::Frequency)
}

/// Name of a check, for a table.
pub fn check_name(kind: CheckKind) -> &'static str {
    match kind {
        CheckKind::TensionBending => "pull and bending",
        CheckKind::CompressionBending => "push and bending",
        CheckKind::Bending => "bending",
        CheckKind::Shear => "shear",
        CheckKind::Column => "buckling",
        CheckKind::SagInstant => "sag at once",
        CheckKind::SagFinal => "sag in the end",
        CheckKind::SagStated => "sag, your limit",
        CheckKind::DeckBending => "deck bending",
        CheckKind::DeckShear => "deck shear",
        CheckKind::DeckSag => "deck sag",
        CheckKind::Torsion => "twist",
        CheckKind::LateralBuckling => "tipping",
        CheckKind::Bearing => "crushing",
        CheckKind::Notch => "notch",
        CheckKind::Hole => "hole",
        CheckKind::Sway => "leaning",
        CheckKind::FrameBuckling => "folding",
        CheckKind::Frequency => "swaying",
    }
}

/// What happens to the member, said once in `why`: metal yields where wood splits and tears.
pub fn check_meaning(check: &Check) -> &'static str {
    let metal = check.clause.starts_with("EN 1993") || check.clause.starts_with("EN 1999");
    match check.kind {
        CheckKind::TensionBending if metal => "it is pulled and bent; its outermost edge gives way and stays bent",
        CheckKind::CompressionBending if metal => "it is pressed and bent; its outermost edge gives way and stays bent",
        CheckKind::Bending if metal => "it is bent; its outermost edge gives way and stays bent",
        CheckKind::Shear if metal => "its upper and lower half try to slide along each other",
        CheckKind::Torsion if metal => "it is twisted about its own length, and stays twisted",
        CheckKind::TensionBending => "it is pulled along its grain and bent; the outermost fibres tear first",
        CheckKind::CompressionBending => "it is pressed along its grain and bent; the outermost fibres crush first",
        CheckKind::Bending => "it is bent; the outermost fibres break first",
        CheckKind::Shear => "its upper and lower half try to slide along each other; it splits near its support",
        CheckKind::Column => "it is pressed along its length and may bow out sideways",
        CheckKind::SagInstant => "it goes down as soon as somebody is on it",
        CheckKind::SagFinal => "it goes down further in the years, because loaded wood creeps",
        CheckKind::SagStated => "it goes down further than the limit you wrote into the file",
        CheckKind::DeckBending => "the deck is bent between the members under it",
        CheckKind::DeckShear => "the deck is shorn through beside a member under it",
        CheckKind::DeckSag => "the deck goes down between the members under it",
        CheckKind::Torsion => "it is twisted about its own length; it splits along the middle of its wide face",
        CheckKind::LateralBuckling => "it is deep and thin, and may tip over sideways while it bends",
        CheckKind::Bearing => "the timber is crushed across its grain where it lies on another",
        CheckKind::Notch => "it splits from the corner of its notch, or what the notch leaves is not enough",
        CheckKind::Hole => "what the hole leaves of it is bent, pulled or shorn too much",
        CheckKind::Sway => "the whole frame leans over when somebody pushes it or moves about",
        CheckKind::FrameBuckling => {
            "under so many times its loads the whole frame folds: posts lean over or pieces bow out"
        }
        CheckKind::Frequency => {
            "the whole frame sways when somebody moves about; the slower, the less is stiff against it"
        }
    }
}

/// The share of a check that a push or pull along the grain must have to be named.
const FELT: f64 = 0.02;

/// The check as it is felt: buckling, push or pull whose force along the grain nobody feels is said to be the bending
/// that makes it up. Words only: utilisation and verdict stay.
pub fn felt(check: &Check, checks: &[Check]) -> Check {
    let with_force =
        matches!(check.kind, CheckKind::Column | CheckKind::CompressionBending | CheckKind::TensionBending);
    let bending = checks.iter().find(|other| {
        with_force
            && other.tag == check.tag
            && other.kind == CheckKind::Bending
            && other.utilisation > (1.0 - FELT) * check.utilisation
    });
    let mut felt = check.clone();
    if let Some(bending) = bending {
        felt.kind = CheckKind::Bending;
        felt.at_mm = bending.at_mm;
    }
    felt
}

/// What the check says, as the end of a sentence that began with the member.
pub fn check_says(check: &Check) -> String {
    if is_sag(check.kind) {
        let when = if check.kind == CheckKind::SagFinal { " in the end" } else { "" };
        let (sag, limit) = figures::to_limit(check.demand, check.resistance);
        return format!("sags {sag}{when}; the limit is {limit}");
    }
    match check.kind {
        CheckKind::Sway => {
            let (lean, limit) = figures::to_limit(check.demand, check.resistance);
            return format!("leans {lean}; the limit is {limit}");
        }
        CheckKind::FrameBuckling => {
            return format!(
                "folds at {} times its loads; {} times is asked",
                figures::cut(check.resistance),
                figures::times(check.demand)
            );
        }
        CheckKind::Frequency => {
            return format!(
                "sways {} times a second; {} times is asked",
                figures::cut(check.resistance),
                figures::times(check.demand)
            );
        }
        _ => {}
    }
    let how = match check.kind {
        CheckKind::Torsion => "twist",
        CheckKind::LateralBuckling => "tipping over sideways",
        CheckKind::Bearing => "crushing across the grain",
        CheckKind::Notch => "its notch",
        CheckKind::Hole => "what its hole leaves",
        CheckKind::Column => "buckling",
        CheckKind::Shear | CheckKind::DeckShear => "shear",
        CheckKind::TensionBending => "pull with bending",
        CheckKind::CompressionBending => "push with bending",
        _ => "bending",
    };
    format!("{how} takes {}", figures::share_of_capacity(check.utilisation))
}

/// What a combination is for, in a table.
pub fn limit_state(state: LimitState) -> &'static str {
    match state {
        LimitState::Strength => "strength",
        LimitState::SagInstant => "sag at once",
        LimitState::SagFinal => "sag in the end",
    }
}

/// The mend in one sentence without a full stop.
pub fn mend(mend: &Mend) -> String {
    let Mend { members, from_stock, to_stock, utilisation, mass_change_kg, next_worst, next_worst_tag } = mend;
    let mut text = format!(
        "{to_stock} instead of {from_stock} for {} brings it to {}, {}",
        list(members, 3),
        figures::share(*utilisation),
        figures::kilograms_more(*mass_change_kg)
    );
    if !members.contains(next_worst_tag) && !next_worst_tag.is_empty() {
        let next = if next_worst_tag == super::whole::TAG { "the whole frame" } else { next_worst_tag };
        text.push_str(&format!("; then {next} is worst, at {}", figures::share(*next_worst)));
    }
    text
}

/// An assumption in a few words, for the first screen.
pub fn assumption(assumption: &Assumption) -> String {
    let Assumption { code, about, value } = assumption;
    let number = value.unwrap_or(f64::NAN);
    match code {
        AssumptionCode::ToBeMeasured => format!("still to be measured: {}", to_be_measured(about)),
        AssumptionCode::GradeAssumed => format!("{} (not stamped)", list(about, 2)),
        AssumptionCode::PersonMass => format!("{} a person", figures::kilograms(number)),
        AssumptionCode::JointsIdeal => "joints hold as drawn".into(),
        AssumptionCode::AnchorsIdeal => "floor and body don't give".into(),
        AssumptionCode::ServiceClass => format!("service class {number:.0}"),
        AssumptionCode::SmallPiece => format!("small pieces of {} as good as the whole board", list(about, 2)),
        AssumptionCode::PeopleGiven => "people only where the file puts them".into(),
        AssumptionCode::ShortTerm => "kneeling and sitting as short loads".into(),
        AssumptionCode::ColumnPinned => format!("{} free to bow over the whole length", list(about, 2)),
        AssumptionCode::ColumnHeld => format!("{} held against bowing as you say", list(about, 2)),
        AssumptionCode::DeckOneWay => "deck carries one way".into(),
        AssumptionCode::FixingsShare => format!("{} for screws and finish", percent_of_timber(number)),
        AssumptionCode::FactorChanged => format!("changed factor {}{}", list(about, 3), equals(*value)),
        AssumptionCode::SpinSetAside => format!("{} may spin about its own length, harmlessly", list(about, 2)),
        AssumptionCode::FromMemory => format!("{} from memory of the standard", list(about, 2)),
        AssumptionCode::ColumnByFrame => format!("how {} can bow, from the frame itself", list(about, 2)),
        AssumptionCode::NotColumnCritical => format!("{} pressed too little to bow", list(about, 2)),
        AssumptionCode::SecondOrder => "posts out of plumb and bowed, where the frame is soft".into(),
        AssumptionCode::LateralHolds => format!("{} held upright only at its joints", list(about, 2)),
        AssumptionCode::ContactLength => "timbers touch over their whole width".into(),
        AssumptionCode::MixedCreep => format!("{} creep differently", list(about, 2)),
        AssumptionCode::TravelAcceleration => format!("braking with {number:.1} g"),
        AssumptionCode::NoDiaphragm => "decks don't stiffen the frame".into(),
        AssumptionCode::SharingFactor => "no bonus for members that share".into(),
        AssumptionCode::MattressThickness => format!("mattresses {} thick", figures::length(number)),
        AssumptionCode::UngradedPiece => format!("{} as the lowest class, C14", list(about, 2)),
        AssumptionCode::MetalElastic => format!("{} never bent for good, unwelded", list(about, 2)),
        AssumptionCode::MetalUnwelded => format!("no heat on {}", list(about, 2)),
        AssumptionCode::MetalProfile => format!("{} with stout walls, alike on both sides", list(about, 2)),
    }
}

/// `B3, wall to wheel arch`: what an assumption of that kind is about; of the whole only what.
pub fn to_be_measured(about: &[String]) -> String {
    match about {
        [tag, what] if tag.is_empty() => what.clone(),
        about => about.join(", "),
    }
}

/// Why an assumption matters or how to be rid of it, one sentence.
pub fn assumption_advice(code: AssumptionCode) -> &'static str {
    match code {
        AssumptionCode::ToBeMeasured => "nothing that hangs on it can be issued for cutting",
        AssumptionCode::GradeAssumed => "look for the stamp, then write grade = \"stamped\" into its stock",
        AssumptionCode::PersonMass => "write person under [check], or mass into an entry of people",
        AssumptionCode::JointsIdeal => "screws and bolts are not reckoned yet; see that each joint can do it",
        AssumptionCode::AnchorsIdeal => "thin sheet gives; use spreader plates or put the post on the floor",
        AssumptionCode::ServiceClass => "2 is an unheated vehicle that can breathe; 3 is wet",
        AssumptionCode::SmallPiece => "a knot weakens a small piece more; sort out the knotty ones",
        AssumptionCode::PeopleGiven => "add entries of people where somebody might kneel or sit",
        AssumptionCode::ShortTerm => "the code would take them a tenth more severely, as medium term",
        AssumptionCode::ColumnPinned => "write held_width or held_depth where something holds it",
        AssumptionCode::ColumnHeld => "see that what holds it is really fixed to it",
        AssumptionCode::DeckOneWay => {
            "each slat carries alone; a sheet carries a load on the strip that its stiffness as a plate gives, one way \
             between members"
        }
        AssumptionCode::FixingsShare => "confirm the weight on a scale",
        AssumptionCode::FactorChanged => "written in the file under [check]",
        AssumptionCode::SpinSetAside => "no load drives it",
        AssumptionCode::FromMemory => "to be compared with a printed copy",
        AssumptionCode::ColumnByFrame => "from the way the whole frame would buckle under these loads",
        AssumptionCode::NotColumnCritical => "under a hundredth of what would make it bow",
        AssumptionCode::SecondOrder => "lean 5 mm in a metre, bow 1 in 400, as the code has it",
        AssumptionCode::LateralHolds => "a deck holds a bearer upright only where it is screwed down",
        AssumptionCode::ContactLength => "a rounded or chamfered edge touches less; write bearing where you know it",
        AssumptionCode::MixedCreep => "checked with the stiffness at the start and in the end",
        AssumptionCode::TravelAcceleration => "a choice of this project for vans of its mass, no crash test",
        AssumptionCode::NoDiaphragm => "a sheet stiffens only with its screws, which are not reckoned yet",
        AssumptionCode::SharingFactor => "who carries how much is computed instead",
        AssumptionCode::MattressThickness => {
            "write mattress into the deck; three quarters of it are left when somebody lies on it"
        }
        AssumptionCode::UngradedPiece => "look for a stamp, or measure it, and write grade into its stock",
        AssumptionCode::MetalElastic => {
            "steel tubes as cold formed; welds, bolts and years of shaking are not reckoned"
        }
        AssumptionCode::MetalUnwelded => "a weld takes away up to half of its strength close by; bolt it instead",
        AssumptionCode::MetalProfile => {
            "thin fins can buckle by themselves, and a lopsided profile twists; ask its maker"
        }
    }
}

fn percent_of_timber(share: f64) -> String {
    format!("{:.0}\u{a0}%", share * 100.0)
}

fn equals(value: Option<f64>) -> String {
    value.map(|value| format!(" = {}", figures::factor(value))).unwrap_or_default()
}

/// What was not checked, in one or two words.
pub fn unchecked(what: Unchecked) -> &'static str {
    match what {
        Unchecked::StrengthUnknown => "strength of unnamed stuff",
        Unchecked::Metal => "metal",
        Unchecked::Torsion => "twist",
        Unchecked::LateralBuckling => "tipping",
        Unchecked::Bearing => "crushing",
        Unchecked::Notches => "notches",
        Unchecked::Stability => "sway",
        Unchecked::JointFixings | Unchecked::AnchorFixings => "fixings",
        Unchecked::Travelling => "newtons on the road",
        Unchecked::GearFixings => "lashing of gear",
        Unchecked::Fit => "fit",
        Unchecked::NotComputed => "what can't be computed",
        Unchecked::Shear => "shear",
    }
}

/// What was not checked, in full.
pub fn unchecked_long(what: Unchecked) -> &'static str {
    match what {
        Unchecked::StrengthUnknown => "strength: the file gives only the stiffness of its material",
        Unchecked::Metal => {
            "strength: its walls are so thin that they may buckle by themselves, or its class or figures don't tell"
        }
        Unchecked::Torsion => "twist, alone and with shear",
        Unchecked::LateralBuckling => "a deep member tipping over sideways under load",
        Unchecked::Bearing => "crushing across the grain where one timber lies on another",
        Unchecked::Notches => "notches and holes",
        Unchecked::Stability => "sway and the stability of the whole frame",
        Unchecked::JointFixings => "screws, bolts and glue of the joints",
        Unchecked::AnchorFixings => "the fixings into floor and body",
        Unchecked::Travelling => {
            "what loads given in newtons push with on the road: write them as mass where something weighs"
        }
        Unchecked::GearFixings => "straps and stops that keep gear where it lies when the vehicle brakes or turns",
        Unchecked::Fit => "whether it fits, and what collides",
        Unchecked::NotComputed => "everything: a fault keeps it from being computed",
        Unchecked::Shear => "shear: the file gives no shear areas for its profile",
    }
}

/// The safety words of every print, in two lines.
pub const SAFETY: &str = "An opinion on statics and mass; no certificate, no crash test. Seats, belts, gas and \
                          mains: licensed people, local rules. Weights: confirm on a weighbridge.";

/// A tag as it is typed on a command line: in quotes where a shell would take it for two words.
pub fn typed(tag: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || "-_./:@,+".contains(c);
    if tag.chars().all(plain) { tag.to_owned() } else { format!("'{}'", tag.replace('\'', "'\\''")) }
}

/// A revision that a design of `here` was drawn after: `curlew-platform C`, with its group where that is another.
pub fn drawn_after(here: &str, group: &str, design: &str, letter: &str) -> String {
    if here == group { format!("{design}\u{a0}{letter}") } else { format!("{design}\u{a0}{letter} ({group})") }
}

/// `B1, B2, B3 and 4 more`.
pub fn list(names: &[String], most: usize) -> String {
    let shown = if names.len() == most + 1 { most + 1 } else { most.min(names.len()) };
    let rest = names.len() - shown;
    match (shown, rest) {
        (0, _) => "nothing".into(),
        (1, 0) => names[0].clone(),
        (_, 0) => format!("{} and {}", names[..shown - 1].join(", "), names[shown - 1]),
        _ => format!("{} and {rest} more", names[..shown].join(", ")),
    }
}

/// Names of missing fields as the file writes them.
pub fn fields(names: &[String]) -> Vec<String> {
    let plain = |name: &String| {
        let bare = ["_mm", "_kg"].iter().find_map(|unit| name.strip_suffix(unit)).unwrap_or(name);
        bare.strip_prefix("vehicle.").unwrap_or(bare).to_owned()
    };
    names.iter().map(plain).collect()
}

/// The first letter made a capital: a sentence begins.
pub fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
#[path = "words_tests.rs"]
mod tests;
