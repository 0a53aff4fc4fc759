//! Proof loads against hand calculation, and against the same load stated in the design.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    missing_docs,
    dead_code,
    reason = "a test ends where it finds a fault, and uses a part of the shared helpers"
)]

#[path = "frames/build.rs"]
mod build;
#[path = "frames/chance.rs"]
mod chance;
#[path = "proofs/deck.rs"]
mod deck;
#[path = "frames/platform.rs"]
mod platform;
#[path = "proofs/stated.rs"]
mod stated;

use battenboard_engine::design::{Design, Frame, Grading, Grip, Hold, Material, Section, Stock, Vector};
use battenboard_engine::findings::{CheckKind, Verdict};
use battenboard_engine::proof::{Lasts, Press, ProofLoad, ProofOutcome, ProofResult, Reason, SagWhen, Target, prove};
use proptest::prelude::*;

/// Standard gravity, m/s² (ISO 80000-3).
const G: f64 = 9.80665;
const SPAN: f64 = 2000.0;
const E: f64 = 10_000.0;
/// 45 x 70.
const AREA: f64 = 45.0 * 70.0;
const I: f64 = 45.0 * 70.0 * 70.0 * 70.0 / 12.0;

fn frame(design: &Design) -> Frame {
    Frame::new(design).unwrap_or_else(|violations| panic!("{violations:?}"))
}

fn on(tag: &str, at_mm: f64) -> Target {
    Target::Member { tag: tag.into(), at_mm }
}

fn mass(target: Target, mass_kg: f64) -> ProofLoad {
    let (sag, lasts) = (SagWhen::AtOnce, Lasts::Short);
    ProofLoad { target, press: Press::Mass(mass_kg), most_sag_mm: Some(5.0), most_utilisation: None, sag, lasts }
}

fn force(target: Target, force: Vector) -> ProofLoad {
    ProofLoad { press: Press::Force(force), ..mass(target, 1.0) }
}

fn run(design: &Design, load: &ProofLoad) -> ProofResult {
    assert_eq!(load.faults(), []);
    prove(&frame(design), std::slice::from_ref(load), &|| false).unwrap().remove(0)
}

#[track_caller]
fn close(found: f64, expected: f64) {
    assert!((found - expected).abs() <= 1e-9 * expected.abs(), "{found} instead of {expected}");
}

/// One beam along x on two supports, of a material given by its stiffness, without shear flexibility.
fn beam(density: f64, holds: [Hold; 2]) -> Design {
    let mut design = build::blank("beam");
    let mut stock = build::stock("bar", E, 600.0, build::section(AREA, I, I, I));
    stock.material = Material::Given { e_n_mm2: E, g_n_mm2: 600.0, density_kg_m3: density };
    design.stock.push(stock);
    design.members.push(build::member("F2", "bar", [0.0; 3], [SPAN, 0.0, 0.0]));
    for (number, hold) in holds.into_iter().enumerate() {
        let at = SPAN * number as f64;
        if !matches!(hold, Hold::Given([Grip::Free, ..])) {
            design.anchors.push(build::anchor(&format!("A{number}"), "F2", at, hold));
        }
    }
    design
}

fn simple(density: f64) -> Design {
    beam(density, [build::free_in(&[4, 5]), build::free_in(&[4, 5])])
}

/// The same beam of C24, rectangular, on supports that hold everything but bending.
fn timber() -> Design {
    let mut design = simple(0.0);
    design.stock[0] = Stock {
        name: "bar".into(),
        section: Section::Rectangle { width_mm: 45.0, depth_mm: 70.0 },
        material: Material::Class("C24".into()),
        grading: Grading::Stamped,
        lengths_mm: Vec::new(),
        price_per_m: None,
        resawn: false,
    };
    design
}

fn sag(result: &ProofResult) -> f64 {
    result.sag.as_ref().unwrap_or_else(|| panic!("{result:?}")).at_place_mm
}

/// P l³/(48 E I) (any book of beam formulas; derived by integrating M/EI twice).
#[test]
fn a_mass_at_midspan_sags_as_the_formula_says() {
    let result = run(&simple(0.0), &mass(on("F2", SPAN / 2.0), 100.0));
    close(sag(&result), 100.0 * G * SPAN.powi(3) / (48.0 * E * I));
    assert_eq!(result.point_mm, Some([SPAN / 2.0, 0.0, 0.0]));
    assert_eq!(result.outcome, ProofOutcome::Failed, "12.7 mm of 5 mm");
    // Its strength is not known: no check, and that is said.
    assert_eq!((result.governing, result.not_judged), (None, vec!["F2".to_owned()]));
}

/// P a² b²/(3 E I l) under the load; the greatest, for a > b, P b (l² - b²)^1.5/(9 sqrt(3) E I l) at sqrt((l² - b²)/3)
/// (derived: slope of the longer side's deflection line set to nothing).
#[test]
fn a_mass_beside_the_middle_sags_most_elsewhere() {
    let (a, b) = (1400.0, 600.0);
    let p = 80.0 * G;
    let result = run(&simple(0.0), &mass(on("F2", a), 80.0));
    close(sag(&result), p * a * a * b * b / (3.0 * E * I * SPAN));
    let found = result.sag.unwrap();
    let square: f64 = SPAN * SPAN - b * b;
    close(found.greatest_mm, p * b * square.powf(1.5) / (9.0 * 3.0_f64.sqrt() * E * I * SPAN));
    assert!((found.greatest_at_mm - (square / 3.0).sqrt()).abs() < 1e-3, "{found:?}");
    assert_eq!(found.greatest_tag, "F2");
}

/// The marked end is the start: reversed, the same place has another distance.
#[test]
fn the_distance_is_from_the_marked_end() {
    let mut turned = simple(0.0);
    let member = &mut turned.members[0];
    (member.from, member.to) = (member.to, member.from);
    for anchor in &mut turned.anchors {
        anchor.at_mm = SPAN - anchor.at_mm;
    }
    let there = run(&simple(0.0), &mass(on("F2", 600.0), 80.0));
    let here = run(&turned, &mass(on("F2", SPAN - 600.0), 80.0));
    close(sag(&here), sag(&there));
    assert_eq!(here.point_mm, there.point_mm);
}

/// P l³/(3 E I) at the tip of a cantilever.
#[test]
fn a_cantilever_sags_at_its_tip() {
    let design = beam(0.0, [Hold::Rigid, Hold::Given([Grip::Free; 6])]);
    let result = run(&design, &force(on("F2", SPAN), [0.0, 0.0, -200.0]));
    close(sag(&result), 200.0 * SPAN.powi(3) / (3.0 * E * I));
    // At three quarters: P x²(3l - x)/(6 E I) with the load there as well is P x³/(3 E I).
    let result = run(&design, &force(on("F2", 1500.0), [0.0, 0.0, -200.0]));
    close(sag(&result), 200.0 * 1500.0_f64.powi(3) / (3.0 * E * I));
    assert!(result.sag.unwrap().greatest_mm > 200.0 * 1500.0_f64.powi(3) / (3.0 * E * I));
}

/// Own weight at once: 5 w l⁴/(384 E I) more, w = A rho g.
#[test]
fn own_weight_is_in_it() {
    let rho = 500.0;
    let w = AREA * 1e-9 * rho * G;
    let result = run(&simple(rho), &mass(on("F2", SPAN / 2.0), 100.0));
    let expected = 100.0 * G * SPAN.powi(3) / (48.0 * E * I) + 5.0 * w * SPAN.powi(4) / (384.0 * E * I);
    close(sag(&result), expected);
}

/// Upwards against the own weight; sideways: the sag is along the force, whatever the own weight does across it.
#[test]
fn a_force_in_another_direction_is_measured_along_itself() {
    let rho = 500.0;
    let w = AREA * 1e-9 * rho * G;
    let own = 5.0 * w * SPAN.powi(4) / (384.0 * E * I);
    let up = run(&simple(rho), &force(on("F2", SPAN / 2.0), [0.0, 0.0, 300.0]));
    close(sag(&up), 300.0 * SPAN.powi(3) / (48.0 * E * I) - own);
    let aside = run(&simple(rho), &force(on("F2", SPAN / 2.0), [0.0, 300.0, 0.0]));
    close(sag(&aside), 300.0 * SPAN.powi(3) / (48.0 * E * I));
}

/// A post is shortened: P l/(E A).
#[test]
fn a_post_gives_way_along_its_length() {
    let mut design = beam(0.0, [Hold::Rigid, Hold::Given([Grip::Free; 6])]);
    design.members[0].to = [0.0, 0.0, SPAN];
    let result = run(&design, &force(on("F2", SPAN), [0.0, 0.0, -100.0]));
    close(sag(&result), 100.0 * SPAN / (E * AREA));
}

/// EN 1995-1-1 by hand: M = 1.5 P l/4 + 1.35 w l²/8 at midspan, sigma = M/W, f_m,d = k_mod k_h f_m,k/gamma_M with
/// k_mod = 0.9 (short term, service class 2, table 3.1), k_h = (150/70)^0.2 (3.2(3)), gamma_M = 1.3 (table 2.3), C24:
/// f_m,k = 24, mean density 420 (EN 338). Lateral buckling: l_ef = 0.8 l + 2 h (table 6.1) = 1740, sigma_crit = 0.78 b²
/// E_0,05/(h l_ef) = 96 > 24/0.5625: no loss.
#[test]
fn utilisation_is_that_of_the_code() {
    let (p, w) = (60.0 * G, AREA * 1e-9 * 420.0 * G);
    let moment = 1.5 * p * SPAN / 4.0 + 1.35 * w * SPAN * SPAN / 8.0;
    let stress = moment / (45.0 * 70.0 * 70.0 / 6.0);
    let resistance = |k_mod: f64| k_mod * (150.0_f64 / 70.0).powf(0.2) * 24.0 / 1.3;
    for (lasts, k_mod) in [(Lasts::Short, 0.9), (Lasts::Medium, 0.8), (Lasts::Long, 0.7), (Lasts::Instantaneous, 1.1)] {
        let load = ProofLoad { lasts, most_utilisation: Some(1.0), ..mass(on("F2", SPAN / 2.0), 60.0) };
        let result = run(&timber(), &load);
        let check = result.governing.unwrap();
        close(check.utilisation, stress / resistance(k_mod));
        assert_eq!((check.tag.as_str(), check.kind, check.at_mm), ("F2", CheckKind::Bending, SPAN / 2.0));
        assert!(check.clause.contains("6.1.6"), "{}", check.clause);
        assert_eq!(check.combination, "proof load");
        assert!(result.not_judged.is_empty());
    }
}

/// In the end by hand (EN 1995-1-1 2.2.3): G (1 + k_def) + Q (1 + psi_2 k_def), k_def = 0.8, psi_2 = 0.3 for people.
#[test]
fn sag_in_the_end_creeps() {
    let mut design = timber();
    design.stock[0].section = Section::Rectangle { width_mm: 45.0, depth_mm: 70.0 };
    let at_once = |kg: f64| sag(&run(&design, &mass(on("F2", SPAN / 2.0), kg)));
    // Two loads tell own weight and load apart.
    let (one, two) = (at_once(20.0), at_once(40.0));
    let (load, own) = (two - one, 2.0 * one - two);
    let last = ProofLoad { sag: SagWhen::Final, ..mass(on("F2", SPAN / 2.0), 20.0) };
    let expected = |psi_2: f64| own * 1.8 + load * (1.0 + psi_2 * 0.8);
    close(sag(&run(&design, &last)), expected(0.3));
    let stored = ProofLoad { lasts: Lasts::Long, ..last };
    close(sag(&run(&design, &stored)), expected(0.8));
}

#[test]
fn limits_decide_and_nothing_may_be_used_beyond_what_it_carries() {
    let at = on("F2", SPAN / 2.0);
    let sagging = sag(&run(&timber(), &mass(at.clone(), 60.0)));
    let outcome = |most_sag_mm, most_utilisation, kg| {
        run(&timber(), &ProofLoad { most_sag_mm, most_utilisation, ..mass(at.clone(), kg) }).outcome
    };
    assert_eq!(outcome(Some(sagging), None, 60.0), ProofOutcome::Passed, "exactly the limit");
    assert_eq!(outcome(Some(sagging * 0.999), None, 60.0), ProofOutcome::Failed);
    let used = run(&timber(), &mass(at.clone(), 60.0)).utilisation().unwrap();
    assert!(used < 1.0, "{used}");
    assert_eq!(outcome(None, Some(used), 60.0), ProofOutcome::Passed);
    assert_eq!(outcome(None, Some(used * 0.999), 60.0), ProofOutcome::Failed);
    // It would break, however much sag is allowed.
    assert_eq!(outcome(Some(1000.0), None, 60.0), ProofOutcome::Passed);
    assert_eq!(outcome(Some(1000.0), None, 200.0), ProofOutcome::Failed);
}

#[test]
fn what_is_not_there_cannot_be_run_and_says_why() {
    let reason = |design: &Design, load: &ProofLoad| {
        let result = run(design, load);
        assert_eq!(result.outcome, ProofOutcome::CannotBeRun, "{result:?}");
        assert_eq!((&result.sag, &result.governing), (&None, &None));
        result.reason.unwrap()
    };
    let gone = Reason::TargetGone { tag: "F3".into() };
    assert_eq!(reason(&simple(0.0), &mass(on("F3", 100.0), 80.0)), gone);
    let beyond = Reason::BeyondEnd { tag: "F2".into(), length_mm: SPAN };
    assert_eq!(reason(&simple(0.0), &mass(on("F2", SPAN + 1.0), 80.0)), beyond);
    assert_eq!(
        reason(&simple(0.0), &mass(on("F2", -1.0), 80.0)),
        Reason::BeyondEnd { tag: "F2".into(), length_mm: SPAN }
    );
    let loose = beam(0.0, [build::free_in(&[4, 5]), Hold::Given([Grip::Free; 6])]);
    assert_eq!(reason(&loose, &mass(on("F2", 100.0), 80.0)), Reason::TargetMoves { tag: "F2".into() });
    let unknown = ProofLoad { most_utilisation: Some(1.0), ..mass(on("F2", 100.0), 80.0) };
    assert_eq!(reason(&simple(0.0), &unknown), Reason::StrengthUnknown { tag: "F2".into() });
}

/// A bearer on a rail that nothing holds at its other end: the bearer stands, what it stands on does not.
#[test]
fn what_stands_on_something_loose_cannot_be_run() {
    let mut design = timber();
    design.members.push(build::member("B1", "bar", [1000.0, 0.0, 70.0], [1000.0, 800.0, 70.0]));
    design.joints.push(build::joint("j", ("B1", 0.0), ("F2", 1000.0), Hold::Pinned, Default::default()));
    design.anchors.push(build::anchor("end", "B1", 800.0, build::free_in(&[3, 5])));
    let load = mass(on("B1", 400.0), 30.0);
    assert_eq!(run(&design, &load).outcome, ProofOutcome::Passed, "{:?}", run(&design, &load));
    design.anchors.remove(1);
    let result = run(&design, &load);
    let loose = [Reason::TargetMoves { tag: "B1".into() }, Reason::CarrierOpen { tag: "F2".into() }];
    assert!(result.reason.is_some_and(|reason| loose.contains(&reason)));
    assert_eq!(result.outcome, ProofOutcome::CannotBeRun);
}

#[test]
fn a_load_without_sense_is_refused_before_it_is_run() {
    let good = mass(on("F2", 100.0), 80.0);
    assert_eq!(good.faults(), []);
    let paths = |load: ProofLoad| load.faults().into_iter().map(|fault| fault.path).collect::<Vec<_>>();
    for mass_kg in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e6] {
        assert_eq!(paths(ProofLoad { press: Press::Mass(mass_kg), ..good.clone() }), ["mass_kg"]);
    }
    for force in [[0.0; 3], [f64::NAN, 0.0, 0.0], [0.0, 0.0, -1e9]] {
        assert_eq!(paths(ProofLoad { press: Press::Force(force), ..good.clone() }), ["force"]);
    }
    for limit in [0.0, -3.0, f64::NAN, 1e9] {
        assert_eq!(paths(ProofLoad { most_sag_mm: Some(limit), ..good.clone() }), ["most_sag_mm"]);
        assert_eq!(paths(ProofLoad { most_utilisation: Some(limit), ..good.clone() }), ["most_utilisation"]);
    }
    assert_eq!(paths(ProofLoad { most_sag_mm: None, ..good.clone() }), ["most_sag_mm"]);
    assert_eq!(paths(ProofLoad { target: on("F2", f64::NAN), ..good.clone() }), ["place"]);
    let on_deck = |patch_mm| Target::Deck { tag: "D1".into(), at_mm: [0.0; 2], patch_mm };
    assert_eq!(paths(ProofLoad { target: on_deck(Some([0.0, 80.0])), ..good.clone() }), ["patch"]);
    assert_eq!(paths(ProofLoad { target: on_deck(None), press: Press::Force([0.0, 1.0, -1.0]), ..good }), ["force"]);
}

#[test]
fn a_result_and_a_load_come_back_from_their_text() {
    let load = ProofLoad { most_utilisation: Some(0.8), ..mass(on("F2", 600.0), 50.0) };
    let text = serde_json::to_string(&load).unwrap();
    assert_eq!(serde_json::from_str::<ProofLoad>(&text).unwrap(), load);
    let result = run(&timber(), &load);
    let text = serde_json::to_string(&result).unwrap();
    assert_eq!(serde_json::from_str::<ProofResult>(&text).unwrap(), result);
    assert!(text.starts_with(r#"{"outcome":"passed""#), "{text}");
    let gone = run(&timber(), &mass(on("F9", 600.0), 60.0));
    let text = serde_json::to_string(&gone).unwrap();
    assert_eq!(text, r#"{"outcome":"cannot_be_run","reason":{"target_gone":{"tag":"F9"}}}"#);
}

#[test]
fn a_stopped_run_says_so() {
    let loads = [mass(on("F2", 600.0), 60.0)];
    assert!(prove(&frame(&timber()), &loads, &|| true).is_err());
    assert_eq!(prove(&frame(&timber()), &[], &|| true).unwrap(), []);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, ..ProptestConfig::default() })]

    /// Sag less that of the own weight grows with the load; no load but the one asked is in it.
    #[test]
    fn sag_is_linear_in_the_load(at in 50.0..1950.0_f64, kg in 1.0..60.0_f64, times in 2.0..5.0_f64) {
        let sags = |kg: f64| sag(&run(&timber(), &mass(on("F2", at), kg)));
        let none = 2.0 * sags(kg) - sags(2.0 * kg);
        let (one, more) = (sags(kg) - none, sags(times * kg) - none);
        prop_assert!((more - times * one).abs() < 1e-8 * more.abs().max(1e-3), "{one} {more}");
    }

    /// Whatever else is asked and in which order, each result is its own.
    #[test]
    fn results_do_not_depend_on_one_another(places in proptest::collection::vec((0.0..2000.0_f64, 5.0..150.0_f64), 2..6)) {
        let mut loads: Vec<ProofLoad> = places.iter().map(|(at, kg)| mass(on("F2", *at), *kg)).collect();
        loads.push(mass(on("gone", 1.0), 1.0));
        let frame = frame(&timber());
        let together = prove(&frame, &loads, &|| false).unwrap();
        let reversed: Vec<ProofLoad> = loads.iter().rev().cloned().collect();
        let turned = prove(&frame, &reversed, &|| false).unwrap();
        for (index, load) in loads.iter().enumerate() {
            let alone = prove(&frame, std::slice::from_ref(load), &|| false).unwrap().remove(0);
            for other in [&together[index], &turned[loads.len() - 1 - index]] {
                prop_assert_eq!(alone.outcome, other.outcome);
                prop_assert_eq!(&alone.reason, &other.reason);
                let pairs = [
                    (alone.sag.as_ref().map(|s| s.at_place_mm), other.sag.as_ref().map(|s| s.at_place_mm)),
                    (alone.utilisation(), other.utilisation()),
                ];
                for (one, another) in pairs {
                    let (one, another) = (one.unwrap_or_default(), another.unwrap_or_default());
                    prop_assert!((one - another).abs() <= 1e-9 * one.abs(), "{} {}", one, another);
                }
            }
        }
    }
}

#[test]
fn verdicts_of_the_governing_check_are_those_of_the_findings() {
    let result = run(&timber(), &mass(on("F2", SPAN / 2.0), 200.0));
    let check = result.governing.unwrap();
    assert_eq!(check.verdict, Verdict::of(check.utilisation));
}
