#![allow(clippy::unwrap_used, clippy::panic, reason = "a failed test may panic")]

use super::*;

fn case(name: &str, action: Action, people: bool) -> Case {
    Case { name: name.to_owned(), action, people, road: OnRoad::default() }
}

fn van() -> Vec<Case> {
    vec![
        case("own weight", Action::Permanent, false),
        case("dive bottles", Action::Stowage, false),
        case("both asleep", Action::Lying, true),
        case("kneeling at the edge", Action::Moving, true),
    ]
}

fn of(all: &[Combined], limit_state: LimitState) -> Vec<&Combined> {
    all.iter().filter(|combined| combined.limit_state == limit_state).collect()
}

fn near(terms: &[(usize, f64)], wanted: &[(usize, f64)]) -> bool {
    terms.len() == wanted.len()
        && terms.iter().zip(wanted).all(|(one, other)| one.0 == other.0 && (one.1 - other.1).abs() < 1e-12)
}

/// Hand-worked: {}, {S}, {L}, {M}, {S, L}, {S, M}; in the last two only the people lead (psi_0 of storage is 1).
#[test]
fn strength_of_a_van_by_hand() {
    let all = combinations(&van(), &Settings::default(), 0.8).unwrap();
    let strength = of(&all, LimitState::Strength);
    assert_eq!(strength.len(), 11, "six, and all but the first again with own weight at 1.0");
    let by_name = |name: &str| *strength.iter().find(|c| c.name == name).unwrap_or_else(|| panic!("{name}"));
    let alone = by_name("own weight alone");
    assert!(near(&alone.terms, &[(0, 1.35)]));
    assert_eq!(alone.k_mod(Product::Solid, 2), 0.6);
    let gear = by_name("dive bottles");
    assert!(near(&gear.terms, &[(0, 1.35), (1, 1.5)]));
    assert_eq!(gear.k_mod(Product::Solid, 2), 0.7);
    let asleep = by_name("both asleep, with dive bottles");
    assert!(near(&asleep.terms, &[(0, 1.35), (1, 1.5), (2, 1.5)]));
    assert_eq!(asleep.k_mod(Product::Solid, 2), 0.8);
    let kneeling = by_name("kneeling at the edge, with dive bottles; own weight at its least");
    assert!(near(&kneeling.terms, &[(0, 1.0), (1, 1.5), (3, 1.5)]));
    assert_eq!(kneeling.k_mod(Product::Solid, 3), 0.7);
    assert!(strength.iter().all(|c| !(c.terms.iter().any(|t| t.0 == 2) && c.terms.iter().any(|t| t.0 == 3))));
}

/// EN 1995-1-1 (2.3) to (2.5), k_def 0.8: own weight 1.8, storage beside people 1.0 + 0.8 x 0.8 = 1.64, people leading
/// 1 + 0.3 x 0.8 = 1.24.
#[test]
fn sag_by_hand() {
    let all = combinations(&van(), &Settings::default(), 0.8).unwrap();
    let last = of(&all, LimitState::SagFinal);
    assert_eq!(last.len(), 6);
    let found = last.iter().find(|c| c.name == "kneeling at the edge, with dive bottles").unwrap();
    assert!(near(&found.terms, &[(0, 1.8), (1, 1.64), (3, 1.24)]));
    assert_eq!(found.k_mod(Product::Solid, 2), 1.0);
    let instant = of(&all, LimitState::SagInstant);
    let found = instant.iter().find(|c| c.name == "both asleep").unwrap();
    assert!(near(&found.terms, &[(0, 1.0), (2, 1.0)]));
}

/// Two given people-like cases may be there together: each leads once, the other comes with psi_0 = 0.7.
#[test]
fn each_leads_in_turn() {
    let cases = [
        case("bench", Action::Moving, false),
        case("bed", Action::Lying, false),
        case("chest", Action::Stowage, false),
    ];
    let settings = Settings { gamma_variable: Some(1.4), ..Settings::default() };
    let all = combinations(&cases, &settings, 0.6).unwrap();
    let strength = of(&all, LimitState::Strength);
    let names: Vec<&str> = strength.iter().map(|c| c.name.as_str()).collect();
    assert_eq!(
        names,
        [
            "bench",
            "bed",
            "bench, with bed",
            "bed, with bench",
            "chest",
            "bench, with chest",
            "bed, with chest",
            "bench, with bed and chest",
            "bed, with bench and chest",
        ]
    );
    assert!(near(&strength[8].terms, &[(0, 0.98), (1, 1.4), (2, 1.4)]));
    assert_eq!(strength[8].duration, Duration::Short);
}

#[test]
fn nothing_to_combine() {
    assert!(combinations(&[], &Settings::default(), 0.8).unwrap().is_empty());
}

#[test]
fn too_many_are_refused_before_they_are_made() {
    let cases: Vec<Case> = (0..200).map(|i| case(&format!("load {i}"), Action::Stowage, false)).collect();
    let refused = combinations(&cases, &Settings::default(), 0.8);
    assert!(matches!(refused, Err(CheckError::TooManyCombinations { limit: 2_000, .. })));
    // Eight given cases and their 9 x 256 subsets of three combinations each are over the limit, too.
    let cases: Vec<Case> = (0..9).map(|i| case(&format!("load {i}"), Action::Moving, false)).collect();
    assert!(combinations(&cases, &Settings::default(), 0.8).is_err());
    // Sixty-four entries of people beside one load of gear are not.
    let mut cases: Vec<Case> = (0..64).map(|i| case(&format!("person {i}"), Action::Moving, true)).collect();
    cases.push(case("gear", Action::Stowage, false));
    cases.push(case("own weight", Action::Permanent, false));
    let all = combinations(&cases, &Settings::default(), 0.8).unwrap();
    assert_eq!(all.len(), 130 * 3 + 129);
}
