#![allow(clippy::unwrap_used, clippy::panic, reason = "a failed test may panic")]

use super::*;

const G: f64 = 9.81;

/// Own weight (0) with its pushes (1, 2), bottles (3) with theirs (4, 5), people (6), a pull given in newtons (7).
fn van() -> Vec<Case> {
    let case = |name: &str, action, road| Case { name: name.to_owned(), action, people: road == OnRoad::Away, road };
    let mass = |push| OnRoad::Mass { weight: None, push: Some(push) };
    vec![
        case("own weight", Action::Permanent, mass([1, 2])),
        case("own weight, 1 g rearwards", Action::Permanent, OnRoad::Part),
        case("own weight, 1 g to the right", Action::Permanent, OnRoad::Part),
        case("dive bottles", Action::Stowage, mass([4, 5])),
        case("dive bottles, 1 g rearwards", Action::Stowage, OnRoad::Part),
        case("dive bottles, 1 g to the right", Action::Stowage, OnRoad::Part),
        case("kneeling", Action::Moving, OnRoad::Away),
        case("wire", Action::Permanent, OnRoad::Still),
    ]
}

fn vehicle(gross_limit_kg: Option<f64>) -> Vehicle {
    Vehicle { gross_limit_kg, ..Vehicle::default() }
}

fn made(settings: &Settings) -> Vec<Combined> {
    let motions = Accelerations::new(&vehicle(Some(3_500.0)), settings).motions();
    combinations(&van(), &motions, settings)
}

fn near(terms: &[(usize, f64)], wanted: &[(usize, f64)]) -> bool {
    terms.len() == wanted.len()
        && terms.iter().zip(wanted).all(|(one, other)| one.0 == other.0 && (one.1 - other.1).abs() < 1e-12)
}

/// Braking 0.8 g pushes towards -x: own weight 1.35 (1 g down, 0.8 g forwards), bottles 1.5, the wire as it rests.
#[test]
fn braking_by_hand() {
    let all = made(&Settings::default());
    let by_name = |name: &str| all.iter().find(|c| c.name == name).unwrap_or_else(|| panic!("{name}"));
    let laden = by_name("braking, with dive bottles");
    assert!(near(&laden.terms, &[(0, 1.35), (1, -1.08), (3, 1.5), (4, -1.2), (7, 1.35)]), "{:?}", laden.terms);
    assert_eq!((laden.duration, laden.limit_state), (Duration::Short, LimitState::Strength));
    let least = by_name("braking, with dive bottles; own weight at its least");
    assert!(near(&least.terms, &[(0, 1.0), (1, -0.8), (3, 1.5), (4, -1.2), (7, 1.0)]));
    assert!(near(&by_name("braking, empty").terms, &[(0, 1.35), (1, -1.08), (7, 1.35)]));
    assert!(near(&by_name("pulling away, empty").terms, &[(0, 1.35), (1, 0.675), (7, 1.35)]));
    assert!(near(&by_name("a bend to the left, empty").terms, &[(0, 1.35), (2, 0.81), (7, 1.35)]));
    assert!(near(&by_name("a bend to the right, empty").terms, &[(0, 1.35), (2, -0.81), (7, 1.35)]));
    // 2 g down and 0.5 g net up; what is given in newtons has no known mass.
    assert!(near(&by_name("a bump pressing down, empty").terms, &[(0, 2.7), (7, 1.35)]));
    let thrown = by_name("a bump throwing up, with dive bottles; own weight at its least");
    assert!(near(&thrown.terms, &[(0, -0.5), (3, -0.75), (7, 1.0)]));
    // Six motions: laden at most and at least, empty at most. Nobody is aboard.
    assert_eq!(all.len(), 18);
    assert!(all.iter().all(|c| c.terms.iter().all(|t| t.0 != 6)));
    // What is foretold counts every load of gear with own weight at most and at least.
    assert_eq!(count(&van(), 6), 24);
    assert_eq!(count(&van()[..4], 6), 24);
}

/// V13 of the project's vehicle examples (ISO 27956 conference paper, figure 1, read; figures derived): 120 kg in a van
/// of up to 2.0 t pushes with 1059.48 N forwards and 824.04 N sideways at g = 9.81.
#[test]
fn light_vans_by_the_published_figure() {
    for gross in [None, Some(1_900.0), Some(2_000.0)] {
        let taken = Accelerations::new(&vehicle(gross), &Settings::default());
        assert!((taken.forward * 120.0 * G - 1_059.48).abs() < 1e-9);
        assert!((taken.sideways * 120.0 * G - 824.04).abs() < 1e-9);
    }
    let heavy = Accelerations::new(&vehicle(Some(2_800.0)), &Settings::default());
    assert_eq!((heavy.forward, heavy.rearward, heavy.sideways), (0.8, 0.5, 0.6));
    let stated = Settings { road_g: Some([1.0, 0.4, 0.5, 3.0, 1.0]), ..Settings::default() };
    assert_eq!(Accelerations::new(&vehicle(Some(2_800.0)), &stated).down, 3.0);
}

/// Loads in newtons beside a mass in one case: 1 g of both, then what the mass has more or less.
#[test]
fn newtons_beside_masses_stay() {
    let case = |name: &str, road| Case { name: name.to_owned(), action: Action::Permanent, people: false, road };
    let cases = [
        case("kit", OnRoad::Mass { weight: Some(1), push: Some([2, 3]) }),
        case("kit, masses alone", OnRoad::Part),
        case("kit, 1 g rearwards", OnRoad::Part),
        case("kit, 1 g to the right", OnRoad::Part),
    ];
    let [braking, .., down, up] = Accelerations::usual(&vehicle(Some(3_500.0))).motions();
    assert!(near(&terms(&cases, 0, &braking, 1.0), &[(0, 1.0), (2, -0.8)]));
    assert!(near(&terms(&cases, 0, &down, 1.35), &[(0, 1.35), (1, 1.35)]));
    assert!(near(&terms(&cases, 0, &up, 1.0), &[(0, 1.0), (1, -1.5)]));
}

/// Two or three boxes are also absent one by one; more are all there or all away.
#[test]
fn boxes_absent_in_turn() {
    assert_eq!(aboard(&[]), vec![Vec::<usize>::new()]);
    assert_eq!(aboard(&[3]), vec![vec![3], vec![]]);
    assert_eq!(aboard(&[3, 6, 9]), vec![vec![3, 6, 9], vec![6, 9], vec![3, 9], vec![3, 6], vec![]]);
    assert_eq!(aboard(&[1, 2, 3, 4]), vec![vec![1, 2, 3, 4], vec![]]);
}

#[test]
fn no_mass_no_road() {
    let cases = [Case { name: "pull".into(), action: Action::Permanent, people: false, road: OnRoad::Still }];
    let motions = Accelerations::usual(&vehicle(None)).motions();
    assert!(combinations(&cases, &motions, &Settings::default()).is_empty());
}
