//! Metal members in whole frames: what is checked, what is assumed, what is left open.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    missing_docs,
    dead_code,
    reason = "a failed test may panic; a part of the shared helpers is used"
)]

#[path = "frames/build.rs"]
mod build;

use battenboard_engine::design::{Design, Frame, GivenSection, Grading, Hold, Hole, Material, Section, Stock, Vehicle};
use battenboard_engine::findings::{AssumptionCode, Check, CheckKind, Findings, Unchecked, Verdict};
use battenboard_engine::{Ask, check};

fn stock(name: &str, class: &str, section: Section) -> Stock {
    Stock {
        name: name.into(),
        section,
        material: Material::Class(class.into()),
        grading: Grading::Stamped,
        lengths_mm: Vec::new(),
        price_per_m: None,
        resawn: false,
    }
}

/// One bearer of 1 m between two anchors that hold it upright, 500 N in the middle.
fn bearer(item: Stock) -> Design {
    let mut design = build::blank("bearer");
    design.vehicle = Vehicle { name: "Curlew".into(), ..Vehicle::default() };
    design.members.push(build::member("B1", &item.name, [0.0, 0.0, 300.0], [0.0, 1000.0, 300.0]));
    design.stock.push(item);
    // Held in x, y, z and against rolling about y; free to bend.
    design.anchors.push(build::anchor("B1/left", "B1", 0.0, build::free_in(&[3, 5])));
    design.anchors.push(build::anchor("B1/right", "B1", 1000.0, build::free_in(&[1, 3, 5])));
    design.loads.push(build::point_load("case", "B1", 500.0, [0.0, 0.0, -500.0], [0.0; 3]));
    design
}

fn findings(design: &Design) -> Findings {
    check(&Frame::new(design).unwrap_or_else(|v| panic!("{v:?}")), Ask::default(), &|| false).unwrap()
}

fn unchecked(found: &Findings, tag: &str) -> Vec<Unchecked> {
    // Loads by hand never travel: that is said of every member under one.
    let said = found.not_checked.iter().filter(|n| n.tag == tag && n.what != Unchecked::Travelling);
    said.map(|n| n.what).collect()
}

fn assumed(found: &Findings, code: AssumptionCode) -> Option<&[String]> {
    found.assumptions.iter().find(|a| a.code == code).map(|a| a.about.as_slice())
}

fn find(found: &Findings, kind: CheckKind) -> &Check {
    found.checks.iter().find(|c| c.kind == kind).unwrap_or_else(|| panic!("no {kind:?} in {:?}", found.checks))
}

/// Tube 40 x 40 x 3, S235 (EN 10219-2, from memory: 3.30 kg/m, W 4.66 cm³). By hand: 1.35 · 500/4 · 1000 = 168.75 N·m, own
/// weight under a bump of 2 g 1.35 · 2 · 3.30 · 9.81/8 · 1000 = 10.9 N·m; 179.7/4.66 = 38.6 N/mm² of 235: 0.164.
#[test]
fn steel_bearer() {
    let item = stock("40x40x3", "S235", Section::RectangularTube { width_mm: 40.0, depth_mm: 40.0, wall_mm: 3.0 });
    let found = findings(&bearer(item));
    let bending = find(&found, CheckKind::Bending);
    assert!((bending.utilisation - 0.164).abs() < 1e-3, "{}", bending.utilisation);
    assert!((found.weight.frame_kg - 3.30).abs() < 0.01, "{}", found.weight.frame_kg);
    find(&found, CheckKind::Shear);
    find(&found, CheckKind::SagFinal);
    assert_eq!(unchecked(&found, "B1"), []);
    assert_eq!(assumed(&found, AssumptionCode::MetalElastic).unwrap(), ["40x40x3"]);
    assert!(assumed(&found, AssumptionCode::MetalUnwelded).is_none());
    assert_eq!(assumed(&found, AssumptionCode::FromMemory).unwrap(), ["S235"]);
    assert_eq!(found.verdict, Verdict::Holds);
    // Steel does not creep: in the end it sags as at once.
    let ratio = find(&found, CheckKind::SagFinal).demand / find(&found, CheckKind::SagInstant).demand;
    assert!((ratio - 1.0).abs() < 1e-9, "{ratio}");
}

#[test]
fn aluminium_bearer_without_welds() {
    let item = stock("40x40x3", "6060-T66", Section::RectangularTube { width_mm: 40.0, depth_mm: 40.0, wall_mm: 3.0 });
    let found = findings(&bearer(item));
    assert_eq!(find(&found, CheckKind::Bending).clause, "EN 1999-1-1 6.2.1 (6.15)");
    assert_eq!(assumed(&found, AssumptionCode::MetalUnwelded).unwrap(), ["40x40x3"]);
    assert!(assumed(&found, AssumptionCode::FromMemory).is_none(), "its strengths were read");
}

/// A wall that may buckle by itself is never said to hold.
#[test]
fn thin_walls_are_left_open() {
    let item = stock("tin", "S355", Section::RectangularTube { width_mm: 40.0, depth_mm: 40.0, wall_mm: 1.0 });
    let found = findings(&bearer(item));
    assert_eq!(unchecked(&found, "B1"), [Unchecked::Metal]);
    assert!(found.checks.iter().all(|c| !c.clause.starts_with("EN 1993")));
    assert!(assumed(&found, AssumptionCode::MetalElastic).is_none());
}

/// A slotted profile by its maker's figures: bending always; shear only with shear areas; torsion never.
#[test]
fn profiles_by_figures() {
    let given = GivenSection {
        wy_mm3: Some(4500.0),
        wz_mm3: Some(4500.0),
        ..build::section(640.0, 90_000.0, 90_000.0, 20_000.0)
    };
    let found = findings(&bearer(stock("slotted", "6063-T66", Section::Given(given.clone()))));
    find(&found, CheckKind::Bending);
    assert!(found.checks.iter().all(|c| c.kind != CheckKind::Shear));
    assert_eq!(unchecked(&found, "B1"), [Unchecked::Shear, Unchecked::Torsion]);
    assert_eq!(assumed(&found, AssumptionCode::MetalProfile).unwrap(), ["slotted"]);
    // f_o of the thickest walls in the table: 180.
    let strength = find(&found, CheckKind::Bending).factors.iter().find(|f| f.name == "f_o").unwrap().value;
    assert!((strength - 180.0).abs() < 1e-9);

    let sheared = GivenSection { shear_area_y_mm2: Some(200.0), shear_area_z_mm2: Some(200.0), ..given.clone() };
    let found = findings(&bearer(stock("slotted", "6063-T66", Section::Given(sheared))));
    find(&found, CheckKind::Shear);
    assert_eq!(unchecked(&found, "B1"), [Unchecked::Torsion]);

    let bare = GivenSection { wy_mm3: None, ..given };
    let found = findings(&bearer(stock("slotted", "6063-T66", Section::Given(bare))));
    assert_eq!(unchecked(&found, "B1"), [Unchecked::Metal]);
}

/// A bar on edge tips sooner the farther apart it is held upright.
#[test]
fn a_bar_on_edge_tips_over() {
    let item = stock("flat", "S235", Section::Rectangle { width_mm: 6.0, depth_mm: 50.0 });
    let wide = findings(&bearer(item.clone()));
    let tipping = find(&wide, CheckKind::LateralBuckling);
    assert!(tipping.utilisation > find(&wide, CheckKind::Bending).utilisation);
    let length = |check: &Check| check.factors.iter().find(|f| f.name == "L_LT").unwrap().value;
    assert!((length(tipping) - 1000.0).abs() < 1e-9);
    let mut held = bearer(item.clone());
    held.members[0].held_width_mm = Some(250.0);
    let held = findings(&held);
    let closer = find(&held, CheckKind::LateralBuckling);
    assert!((length(closer) - 250.0).abs() < 1e-9 && closer.utilisation < tipping.utilisation);
    // Held at one end alone: as if twice as long.
    let mut bracket = bearer(item);
    bracket.anchors.truncate(1);
    bracket.anchors[0].hold = Hold::Rigid;
    let bracket = findings(&bracket);
    assert!((length(find(&bracket, CheckKind::LateralBuckling)) - 2000.0).abs() < 1e-9);
}

fn post(load_n: f64) -> Design {
    let mut design = build::blank("post");
    let section = Section::RectangularTube { width_mm: 25.0, depth_mm: 25.0, wall_mm: 2.0 };
    design.stock.push(stock("25x25x2", "S235", section));
    design.members.push(build::member("P1", "25x25x2", [0.0; 3], [0.0, 0.0, 1000.0]));
    design.anchors.push(build::anchor("P1/floor", "P1", 0.0, Hold::Rigid));
    design.loads.push(build::point_load("case", "P1", 1000.0, [0.0, 0.0, -load_n], [0.0; 3]));
    design
}

fn factor(check: &Check, name: &str) -> f64 {
    check.factors.iter().find(|f| f.name == name).unwrap_or_else(|| panic!("no {name}")).value
}

/// A post of 1 m, foot fixed, head free: L_cr 2 m comes from the frame, a little less as its own weight hangs lower. 25 x 25 x 2
/// tube, S235, by hand with EN 10219-2 (from memory): A 174 mm², I 1.48 cm⁴, W 1.19 cm³, i 9.24; for L_cr 1975: lambda =
/// 1975/(9.24 · 93.91) = 2.276; phi = (1 + 0.49 · 2.076 + 5.180)/2 = 3.599; chi = 1/(3.599 + sqrt(12.953 - 5.180)) = 0.1566. With N about 700 N
/// n = 700/(0.1566 · 174 · 235) = 0.1093; on the road its own weight bends it besides: (6.61) by the forces that are said.
#[test]
fn steel_post_by_the_frame() {
    let found = findings(&post(500.0));
    let column = find(&found, CheckKind::Column);
    assert!((factor(column, "L_cr,y") - 1975.0).abs() < 20.0, "{}", factor(column, "L_cr,y"));
    let n = -column.forces.n_n / (0.1566 * 174.0 * 235.0);
    let bent = (column.forces.my_n_mm.abs() + column.forces.mz_n_mm.abs()) / (1190.0 * 235.0);
    assert!(n > 0.1, "{n}");
    let by_hand = n + (1.0 + 0.6 * n) * bent;
    assert!((column.utilisation - by_hand).abs() < 0.03 * by_hand, "{} against {by_hand}", column.utilisation);
}

/// A post that buckles at 1.14 times its loads: the forces are those of the leaning post, and it keeps its own length
/// between its ends, where timber would have none left (EN 1993-1-1 5.2.2(7)b).
#[test]
fn steel_post_that_sways() {
    let found = findings(&post(5000.0));
    let column = find(&found, CheckKind::Column);
    assert_eq!(factor(column, "L_cr,y"), 1000.0);
    assert_eq!(factor(column, "L_cr,z"), 1000.0);
    // Lean alone: 1.35 · 5013 N · 5 mm at the foot, before it grows.
    let bent = column.forces.my_n_mm.hypot(column.forces.mz_n_mm);
    assert!(bent > 33_800.0, "{bent}");
    assert!(column.utilisation > find(&found, CheckKind::CompressionBending).utilisation);
    assert_eq!(found.verdict, Verdict::FallsShort);
}

/// Holes and notches in metal are not judged.
#[test]
fn holes_in_metal_are_left_open() {
    let item = stock("40x40x3", "S235", Section::RectangularTube { width_mm: 40.0, depth_mm: 40.0, wall_mm: 3.0 });
    let mut design = bearer(item);
    design.members[0].holes.push(Hole { at_mm: 500.0, diameter_mm: 8.0, through_depth: true, off_mm: 0.0 });
    assert!(unchecked(&findings(&design), "B1").contains(&Unchecked::Notches));
}
