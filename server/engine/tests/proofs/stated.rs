//! A proof load and the same load stated in the design give the same figures: the pipeline is one.

use super::*;
use battenboard_engine::design::{Action, Axes, Load, LoadKind};
use battenboard_engine::{Ask, check};

/// A row of platforms in C24, with posts, rails and bearers, on which nothing but its own weight lies.
fn row() -> Design {
    let sizes = platform::Sizes { fields: 2, field_mm: 900.0, width_mm: 1200.0, height_mm: 500.0, bearers: 3 };
    let mut design = platform::of(sizes);
    for (stock, depth_mm) in design.stock.iter_mut().zip([45.0, 70.0]) {
        stock.section = Section::Rectangle { width_mm: 45.0, depth_mm };
        stock.material = Material::Class("C24".into());
        stock.grading = Grading::Stamped;
    }
    design
}

/// Everything the findings say of combinations with this load, worst first.
fn with_the_load(design: &Design, tag: &str, at_mm: f64, force_n: Vector, action: Action) -> Vec<(CheckKind, f64)> {
    let mut stated = design.clone();
    let what = LoadKind::Point { member: tag.into(), at_mm, force_n, moment_n_mm: [0.0; 3], axes: Axes::Vehicle };
    stated.loads.push(Load { case: "someone".into(), action, what });
    for member in &mut stated.members {
        member.sag_limit_mm = (member.tag == tag).then_some(1.0);
    }
    let findings = check(&frame(&stated), Ask::default(), &|| false).unwrap();
    assert!(findings.faults.is_empty(), "{:?}", findings.faults);
    let with = findings.checks.into_iter().filter(|check| check.combination.starts_with("someone"));
    with.map(|check| (check.kind, if check.kind == CheckKind::SagStated { check.demand } else { check.utilisation }))
        .collect()
}

const NOT_STRENGTH: [CheckKind; 5] =
    [CheckKind::SagInstant, CheckKind::SagFinal, CheckKind::SagStated, CheckKind::Sway, CheckKind::Frequency];

fn same(tag: &str, at_mm: f64, force_n: Vector, lasts: Lasts, action: Action) {
    let design = row();
    let stated = with_the_load(&design, tag, at_mm, force_n, action);
    let worst = stated.iter().filter(|(kind, _)| !NOT_STRENGTH.contains(kind)).map(|(_, used)| *used);
    let worst = worst.fold(0.0, f64::max);
    assert!(worst > 0.1, "the load must be felt: {stated:?}");
    let load = ProofLoad { lasts, ..super::force(on(tag, at_mm), force_n) };
    let proved = run(&design, &load);
    let used = proved.utilisation().unwrap();
    assert!((used - worst).abs() < 1e-6 * worst, "{tag} at {at_mm}: {used} instead of {worst}: {:?}", proved.governing);
    let (_, sag) = *stated.iter().find(|(kind, _)| *kind == CheckKind::SagStated).unwrap();
    let found = proved.sag.unwrap();
    assert!((found.greatest_mm - sag).abs() < 1e-6 * sag, "{tag} at {at_mm}: {found:?} instead of {sag}");
}

#[test]
fn utilisation_and_sag_are_those_of_a_stated_load() {
    same("B0-1", 600.0, [0.0, 0.0, -1000.0], Lasts::Short, Action::Moving);
    same("B1-0", 300.0, [0.0, 0.0, -1500.0], Lasts::Medium, Action::Lying);
    same("RL0", 450.0, [0.0, 0.0, -900.0], Lasts::Long, Action::Stowage);
    same("B0-2", 1200.0, [0.0, 0.0, -2000.0], Lasts::Short, Action::Moving);
}

/// Over a bearer's end the rail below bends: the worst need not be the member that is stood on.
#[test]
fn the_worst_may_be_another_member() {
    let result = run(&row(), &super::force(on("B0-1", 0.0), [0.0, 0.0, -1500.0]));
    let check = result.governing.unwrap();
    assert_ne!(check.tag, "B0-1", "{check:?}");
}

/// Parts that creep differently: w = (G + Q)/K_0 + (G + 0.3 Q)(1/K_end - 1/K_0), as in `creep.rs`, where the same beams
/// and figures stand.
#[test]
fn timber_beside_steel_creeps_by_its_own_part() {
    let mut design = build::blank("pair");
    let of = |name: &str, iy: f64, class: &str| {
        let mut stock = build::stock(name, 1.0, 1.0, build::section(4000.0, iy, 1e6, 1e6));
        stock.material = Material::Class(class.into());
        stock
    };
    design.stock = vec![of("one", 4.0e6, "C24"), of("other", 2.0e5, "S235")];
    design.members = vec![
        build::member("T", "one", [0.0; 3], [SPAN, 0.0, 0.0]),
        build::member("S", "other", [0.0, 0.0, -100.0], [SPAN, 0.0, -100.0]),
    ];
    for member in ["T", "S"] {
        design.anchors.push(build::anchor(&format!("{member}0"), member, 0.0, build::free_in(&[4, 5])));
        design.anchors.push(build::anchor(&format!("{member}1"), member, SPAN, build::free_in(&[0, 4, 5])));
    }
    let mut grips = [Grip::Free; 6];
    grips[2] = Grip::Rigid;
    let half = SPAN / 2.0;
    design.joints.push(build::joint("tie", ("S", half), ("T", half), Hold::Given(grips), Axes::Vehicle));
    let timber = 48.0 * 11_000.0 * 4.0e6 / SPAN.powi(3);
    let steel = 48.0 * 210_000.0 * 2.0e5 / SPAN.powi(3);
    let weight = |rho: f64| 0.625 * 4000.0 * SPAN * 1e-9 * rho * G;
    let (dead, live) = (weight(420.0) + weight(7850.0), 1000.0);
    let (begin, end) = (1.0 / (timber + steel), 1.0 / (timber / 1.8 + steel));
    let load = ProofLoad { sag: SagWhen::Final, ..super::force(on("T", half), [0.0, 0.0, -live]) };
    let expected = (dead + live) * begin + (dead + 0.3 * live) * (end - begin);
    let found = sag(&run(&design, &load));
    assert!((found - expected).abs() < 1e-3 * expected, "{found} instead of {expected}");
    // Two at a time: each is laid on the end as well as on the begin.
    let other = ProofLoad { sag: SagWhen::Final, ..super::force(on("T", half), [0.0, 0.0, -2.0 * live]) };
    let both = prove(&frame(&design), &[other, load], &|| false).unwrap();
    assert!((sag(&both[1]) - found).abs() < 1e-9 * found);
    let expected = (dead + 2.0 * live) * begin + (dead + 0.6 * live) * (end - begin);
    assert!((sag(&both[0]) - expected).abs() < 1e-3 * expected);
}
