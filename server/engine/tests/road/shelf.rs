//! A shelf on which what is there less long need not be what governs (EN 1995-1-1 3.1.3(2)), parked and on the road.

use crate::{G, build, close, read, van, worst};
use battenboard_engine::design::{Action, Design, Grading, Hold, Load, LoadKind, Material, Member, Section, Stock};
use battenboard_engine::findings::CheckKind;

fn timber(name: &str, width_mm: f64, depth_mm: f64) -> Stock {
    Stock {
        name: name.into(),
        section: Section::Rectangle { width_mm, depth_mm },
        material: Material::Class("C24".into()),
        grading: Grading::Stamped,
        lengths_mm: Vec::new(),
        price_per_m: None,
        resawn: false,
    }
}

/// A shelf: a C24 beam 45 x 45 over 1000 mm with given loads in its middle.
fn shelf(loads: &[(&str, Action, f64)]) -> Design {
    let mut design = build::blank("shelf");
    design.stock.push(timber("45x45", 45.0, 45.0));
    design.members.push(Member {
        kind: "bearer".into(),
        ..build::member("B1", "45x45", [2_000.0, 0.0, 500.0], [2_000.0, 1_000.0, 500.0])
    });
    design.anchors.push(build::anchor("B1/left", "B1", 0.0, Hold::Seated));
    design.anchors.push(build::anchor("B1/right", "B1", 1_000.0, Hold::Pinned));
    for (case, action, newtons) in loads {
        design.loads.push(build::point_load(case, "B1", 500.0, [0.0, 0.0, -newtons], [0.0; 3]));
        design.loads.last_mut().unwrap().action = *action;
    }
    van(&mut design, 3_500.0);
    design
}

/// The governing subset may lack the short load. By hand: tins of 400 N stowed (long, k_mod 0.7) and a hand that leans
/// with 100 N (short, k_mod 0.9, psi_0 0.7). Own weight of the beam, 0.8505 kg over 1 m, as a line: M = g l²/8.
/// Tins alone: M = 1.35 x 1042.5 + 1.5 x 400 x 250 = 151 407 N·mm against 0.7; with the hand leading and the tins at
/// psi_0 1.0: 188 907 N·mm against 0.9. 151 407/0.7 = 216 296 governs over 188 907/0.9 = 209 897.
#[test]
fn stowage_alone_governs_over_a_short_load_beside_it() {
    let design = shelf(&[("tins", Action::Stowage, 400.0), ("leaning on it", Action::Moving, 100.0)]);
    let findings = read::solve(&design);
    let own = 0.045 * 0.045 * 420.0 * G * 1_000.0 / 8.0;
    let check = worst(&findings, CheckKind::Bending);
    assert_eq!(check.combination, "tins");
    let moment = 1.35 * own + 1.5 * 400.0 * 250.0;
    close(check.forces.my_n_mm.abs(), moment, "moment of the tins");
    let with_hand = 1.35 * own + 1.5 * 500.0 * 250.0;
    assert!(moment / 0.7 > with_hand / 0.9);
    // sigma = 6 M / b h², f_m,d = k_mod k_h 24 / 1.3, k_h = min((150/45)^0.2, 1.3) = 1.2723 (EN 1995-1-1 3.1).
    let k_h = (150.0_f64 / 45.0).powf(0.2).min(1.3);
    let stress = 6.0 * moment / 45.0_f64.powi(3);
    close(check.utilisation, stress / (0.7 * k_h * 24.0 / 1.3), "utilisation");
    // A heavier hand turns it: 200 N.
    let findings = read::solve(&shelf(&[("tins", Action::Stowage, 400.0), ("leaning on it", Action::Moving, 200.0)]));
    assert_eq!(worst(&findings, CheckKind::Bending).combination, "leaning on it, with tins");
}

/// And permanent loads alone, k_mod 0.6. By hand: kit of 400 N pulling for good (given in newtons, so no push on the
/// road), tins of 30 N: M = 1.35 x (1042.5 + 100 000) = 136 407 N·mm against 0.6 is 227 345; with the tins 147 657
/// against 0.7 is 210 939.
#[test]
fn permanent_loads_alone_govern_over_stowage_beside_them() {
    let design = shelf(&[("kit", Action::Permanent, 400.0), ("tins", Action::Stowage, 30.0)]);
    let check = worst(&read::solve(&design), CheckKind::Bending);
    assert_eq!(check.combination, "own weight alone");
    let own = 0.045 * 0.045 * 420.0 * G * 1_000.0 / 8.0;
    close(check.forces.my_n_mm.abs(), 1.35 * (own + 400.0 * 250.0), "moment");
    let k_mod = check.factors.iter().find(|f| f.name == "k_mod").unwrap();
    assert_eq!(k_mod.value, 0.6);
}

/// Gear at rest may govern less than over a bump: 30 kg as a mass, 2 x 1.5 against k_mod 0.9, not 1.5 against 0.7.
#[test]
fn a_bump_governs_over_gear_at_rest() {
    let mut design = shelf(&[]);
    let what = LoadKind::Mass { member: "B1".into(), at_mm: 500.0, mass_kg: 30.0 };
    design.loads.push(Load { case: "tins".into(), action: Action::Stowage, what });
    let check = worst(&read::solve(&design), CheckKind::Bending);
    assert_eq!(check.combination, "a bump pressing down, with tins");
    let own = 0.045 * 0.045 * 420.0 * G * 1_000.0 / 8.0;
    close(check.forces.my_n_mm.abs(), 2.7 * own + 3.0 * 30.0 * G * 250.0, "moment");
}
