#![allow(clippy::unwrap_used, clippy::panic, reason = "a failed test may panic")]

use super::*;
use crate::design::Vehicle;
use crate::rules::combine::road::Accelerations;

/// A beam of 1 N/mm on two posts 1000 apart with an overhang of 500 past the near one, by moments about the near post:
/// the far post gets 1000 x 500 / 1000 = +500 N of the back-span, -500 x 250 / 1000 = -125 N of the overhang.
fn far_post() -> Anchored {
    let mut standing = Split::default();
    standing.put(500.0);
    standing.put(-125.0);
    Anchored { standing, ..Anchored::default() }
}

fn case(name: &str, action: Action, people: bool) -> Case {
    Case { name: name.to_owned(), action, people, road: OnRoad::Away }
}

fn near(one: f64, other: f64) -> bool {
    (one - other).abs() < 1e-9
}

/// EN 1990 table A1.2(A): 0.9 x 500 - 1.1 x 125 = 312.5 N press. 800 N at the tip pull 800 x 500 / 1000 = 400 N, 1.5
/// times 600: 287.5 N to hold. (All dead load with one factor of 0.9 would say 262.5.)
#[test]
fn overhang_with_a_person_at_its_tip() {
    let mut anchored = far_post();
    anchored.cases_n = vec![0.0, -400.0];
    let cases = [case("own weight", Action::Permanent, false), case("sitting at the tip", Action::Moving, true)];
    let (force, name) = hold_down(&anchored, &cases, &[], &Settings::default());
    assert!(near(force, 287.5), "{force}");
    assert_eq!(name, "sitting at the tip");
    // With people in the middle nothing lifts.
    anchored.cases_n = vec![0.0, 400.0];
    let (force, name) = hold_down(&anchored, &cases, &[], &Settings::default());
    assert!(near(force, -312.5));
    assert_eq!(name, "own weight alone");
}

/// Gear (psi_0 1.0) lifts 100, one entry of people 200, another 300 (psi_0 0.7; one at a time), gear elsewhere presses:
/// 1.5 (100 + 300) - 312.5 = 287.5. A given load of moving people lifts 250 more with psi_0: the 300 lead.
#[test]
fn worst_subset_of_variable_loads() {
    let mut anchored = far_post();
    anchored.cases_n = vec![0.0, -100.0, -200.0, -300.0, 150.0];
    let mut cases = vec![
        case("own weight", Action::Permanent, false),
        case("gear", Action::Stowage, false),
        case("one", Action::Lying, true),
        case("other", Action::Moving, true),
        case("chest", Action::Stowage, false),
    ];
    let (force, name) = hold_down(&anchored, &cases, &[], &Settings::default());
    assert!(near(force, 287.5), "{force}");
    assert_eq!(name, "other, with gear");
    // What neither lifts nor presses is not named.
    anchored.cases_n[4] = 0.0;
    assert_eq!(hold_down(&anchored, &cases, &[], &Settings::default()).1, "other, with gear");
    cases.push(case("bench", Action::Moving, false));
    anchored.cases_n.push(-250.0);
    let (force, name) = hold_down(&anchored, &cases, &[], &Settings::default());
    assert!(near(force, 1.5 * (100.0 + 300.0 + 0.7 * 250.0) - 312.5), "{force}");
    assert_eq!(name, "other, with gear and bench");
}

/// Movements forced on anchors: 1.1 where they lift, away where they press.
#[test]
fn settlement_only_where_it_lifts() {
    let mut anchored = far_post();
    anchored.cases_n = vec![0.0];
    let cases = [case("own weight", Action::Permanent, false)];
    anchored.settlement_n = -400.0;
    assert!(near(hold_down(&anchored, &cases, &[], &Settings::default()).0, 440.0 - 312.5));
    anchored.settlement_n = 400.0;
    assert!(near(hold_down(&anchored, &cases, &[], &Settings::default()).0, -312.5));
}

/// A box presses on the post with 100 N by its weight and, pushed back with 1 g, with 100 N more. Braking at 0.8 g it
/// presses with 100 - 80 = 20 N: with one factor for both it only helps and is taken as away. (Weight favourable and
/// push not would say 1.5 x 80 = 120 N to hold.) Thrown up it lifts with 1.5 x 0.5 x 100 = 75 N.
#[test]
fn on_the_road_a_mass_has_one_factor() {
    let mass = OnRoad::Mass { weight: None, push: Some([2, 3]) };
    let cases = [
        case("own weight", Action::Permanent, false),
        Case { road: mass, ..case("box", Action::Stowage, false) },
        Case { road: OnRoad::Part, ..case("box, 1 g rearwards", Action::Stowage, false) },
        Case { road: OnRoad::Part, ..case("box, 1 g to the right", Action::Stowage, false) },
    ];
    let heavy = Vehicle { gross_limit_kg: Some(3_000.0), ..Vehicle::default() };
    let motions = Accelerations::usual(&heavy).motions();
    let [braking, .., up] = motions;
    let anchored = Anchored { cases_n: vec![0.0, 100.0, 100.0, 0.0], road: vec![Split::default()], ..far_post() };
    let (force, name) = travelling(&anchored, &Split::default(), &cases, &braking, &Settings::default());
    assert!(near(force, 0.0), "{force}");
    assert_eq!(name, "braking, empty");
    let (force, name) = travelling(&anchored, &Split::default(), &cases, &up, &Settings::default());
    assert!(near(force, 1.5 * 50.0), "{force}");
    assert_eq!(name, "a bump throwing up, with box");
    // Higher up, the push of braking wins over the weight: 1.5 (0.8 x 150 - 100).
    let anchored = Anchored { cases_n: vec![0.0, 100.0, 150.0, 0.0], ..anchored };
    let (force, name) = travelling(&anchored, &Split::default(), &cases, &braking, &Settings::default());
    assert!(near(force, 30.0), "{force}");
    assert_eq!(name, "braking, with box");
    // The frame's own mass is no gear: it is counted in its own sum.
    let mut heavy = cases.clone();
    heavy[0].road = OnRoad::Mass { weight: None, push: Some([2, 3]) };
    let (force, name) = travelling(&anchored, &Split::default(), &heavy, &braking, &Settings::default());
    assert!(near(force, 30.0) && name == "braking, with box", "{force} {name}");
    // What neither lifts nor presses is not named.
    let idle = Anchored { cases_n: vec![0.0; 4], ..anchored.clone() };
    assert_eq!(travelling(&idle, &Split::default(), &cases, &braking, &Settings::default()).1, "braking, empty");
    // Among all motions of the road and standing still it is the worst.
    let road = vec![Split::default(); motions.len()];
    let (force, name) = hold_down(
        &Anchored { road, standing: Split::default(), ..anchored.clone() },
        &cases,
        &motions,
        &Settings::default(),
    );
    assert!(near(force, 1.5 * 0.5 * 100.0), "{force}");
    assert_eq!(name, "a bump throwing up, with box");
    // Beside it the dead load of the overhang presses with its 312.5.
    let (force, _) = travelling(&anchored, &far_post().standing, &cases, &braking, &Settings::default());
    assert!(near(force, 30.0 - 312.5), "{force}");
}

/// What only the road does is nothing at rest, and the parts of the dead load are counted once: in their own sum.
#[test]
fn standing_still_no_mass_pushes() {
    let cases = [
        case("own weight", Action::Permanent, false),
        case("box", Action::Stowage, false),
        Case { road: OnRoad::Part, ..case("box, 1 g rearwards", Action::Stowage, false) },
    ];
    let anchored = Anchored { cases_n: vec![-125.0, 100.0, -500.0], ..far_post() };
    let (force, name) = hold_down(&anchored, &cases, &[], &Settings::default());
    assert!(near(force, -312.5), "{force}");
    assert_eq!(name, "own weight alone");
}
