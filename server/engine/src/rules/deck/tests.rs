#![allow(clippy::unwrap_used, clippy::panic, clippy::expect_used, reason = "a failed test may panic")]

use super::*;
use crate::design::{Action, Load, LoadKind, Member, People, Posture, Stock, Stowage};

/// Five bearers across the van at 300 mm, a deck on them, one person at (x, y).
fn frame(surface: DeckSurface, posture: Posture, at: [f64; 2]) -> Frame {
    let stock = |name: &str, width_mm: f64, depth_mm: f64| Stock {
        name: name.into(),
        section: Section::Rectangle { width_mm, depth_mm },
        material: Material::Class("C24".into()),
        grading: crate::design::Grading::Stamped,
        lengths_mm: Vec::new(),
        price_per_m: None,
        resawn: false,
    };
    let bearer = |index: usize| Member {
        tag: format!("B{}", index + 1),
        kind: "bearer".into(),
        stock: "45x70".into(),
        from: [2000.0 + 300.0 * index as f64, -600.0, 400.0],
        to: [2000.0 + 300.0 * index as f64, 600.0, 400.0],
        ..Member::default()
    };
    let design = Design {
        name: "deck".into(),
        title: "A deck".into(),
        stock: vec![stock("45x70", 45.0, 70.0), stock("18x70", 70.0, 18.0)],
        members: (0..5).map(bearer).collect(),
        decks: vec![Deck {
            tag: "D1".into(),
            surface,
            carried_by: (1..=5).map(|i| format!("B{i}")).collect(),
            ..Deck::default()
        }],
        people: vec![People {
            name: "someone".into(),
            posture,
            deck: "D1".into(),
            at_mm: vec![at],
            ..People::default()
        }],
        ..Design::default()
    };
    Frame::new(&design).unwrap_or_else(|violations| panic!("{violations:?}"))
}

fn find(found: &DeckChecks, kind: CheckKind) -> &Check {
    found.checks.iter().find(|check| check.kind == kind).unwrap()
}

fn close(left: f64, right: f64, relative: f64) {
    assert!((left - right).abs() <= relative * right.abs(), "{left} against {right}");
}

/// By hand: a knee (100 kg, 80 x 80) amid a span of 300 mm of birch plywood 12 mm, on a strip of the width b that the
/// plate gives: M = 1.5 x 980.665/4 x (300 - 40) + own weight; V = half the load, on 80 mm.
#[test]
fn knee_on_a_sheet_by_hand() {
    let sheet = DeckSurface::Sheet { material: "birch plywood".into(), thickness_mm: 12.0, grain_across: true };
    let found = checks(&frame(sheet, Posture::Kneeling, [2450.0, 0.0]), 2).unwrap();
    let load = 1.5 * 980.665;
    let bending = find(&found, CheckKind::DeckBending);
    let width = bending.factors.iter().find(|f| f.name == "b").unwrap().value;
    assert!(width > 160.0 && width < 300.0, "{width}");
    let own = 1.35 * 695.0 * 12e-9 * 9.80665 * width;
    let moment = load / 4.0 * (300.0 - 40.0) + own * 300.0 * 300.0 / 8.0;
    close(bending.demand, moment / (width * 144.0 / 6.0), 1e-9);
    close(bending.resistance, 0.9 * 42.9 / 1.2, 1e-12);
    close(bending.point_mm[0], 2450.0, 1e-9);
    assert!(bending.point_mm[1].abs() < 1e-9, "the knee is in the middle: {:?}", bending.point_mm);
    assert_eq!(bending.combination, "someone");
    assert!(bending.factors.iter().any(|f| f.name == "l" && f.value == 300.0));
    assert!(!bending.clause.contains("planar"), "{}", bending.clause);
    let shear = find(&found, CheckKind::DeckShear);
    assert!(shear.clause.ends_with("planar shear"), "{}", shear.clause);
    close(shear.demand, 1.5 * (load / 2.0 + own * 150.0) / 960.0, 1e-9);
    close(shear.resistance, 0.9 * 2.5 / 1.2, 1e-12);
    // Final sag: bending P (8 l³ - 4 l c² + c³)/(384 E I) for a load even over c amid a span l, and M/(5/6 G A) for the
    // shear. Load factor 1 + 0.3 x 1.0, own weight 1 + 1.0.
    let (p, c, l) = (1.3 * 980.665, 80.0_f64, 300.0_f64);
    let stiffness = 10_719.0 * width * 1728.0 / 12.0;
    let own_line = own / 1.35 * 2.0;
    let bent = p * (8.0 * l.powi(3) - 4.0 * l * c * c + c.powi(3)) / (384.0 * stiffness);
    let own_bent = 5.0 * own_line * l.powi(4) / (384.0 * stiffness);
    let sheared = (p / 4.0 * (l - c / 2.0) + own_line * l * l / 8.0) * 1.2 / (200.0 * 12.0 * width);
    let sag = find(&found, CheckKind::DeckSag);
    close(sag.demand, bent + own_bent + sheared, 1e-9);
    close(sag.resistance, 2.0, 1e-12);
}

/// At the sheet's free edge a knee spreads over less.
#[test]
fn a_free_edge_is_weaker() {
    let sheet = DeckSurface::Sheet { material: "birch plywood".into(), thickness_mm: 12.0, grain_across: true };
    let used = |y: f64| {
        let found = checks(&frame(sheet.clone(), Posture::Kneeling, [2450.0, y]), 2).unwrap();
        find(&found, CheckKind::DeckBending).utilisation
    };
    assert!(used(-560.0) > 1.2 * used(0.0), "{} {}", used(-560.0), used(0.0));
}

/// A slat takes what lies on its pitch of 120 mm: of a person sitting 300 mm along the members and 200 mm across
/// them (the side edges are nearer than the ends), 120/300.
#[test]
fn slats_take_their_pitch() {
    let slats = DeckSurface::Slats { stock: "18x70".into(), gap_mm: 50.0 };
    let found = checks(&frame(slats, Posture::Sitting, [2450.0, 0.0]), 2).unwrap();
    let load = 1.5 * 980.665 * 120.0 / 300.0;
    let own = 1.35 * 420.0 * 18e-9 * 9.80665 * 70.0;
    let bending = find(&found, CheckKind::DeckBending);
    let moment = load / 4.0 * (300.0 - 100.0) + own * 300.0 * 300.0 / 8.0;
    close(bending.demand, moment / (70.0 * 324.0 / 6.0), 1e-9);
    close(bending.resistance, 0.9 * 24.0 * 1.3 / 1.3, 1e-12);
    assert!(bending.factors.iter().any(|f| f.name == "b" && f.value == 70.0));
    let shear = find(&found, CheckKind::DeckShear);
    close(shear.demand, 1.5 * (0.5 * load + own * 150.0) / (0.67 * 1260.0), 1e-9);
}

/// Past the outermost bearer the deck is a cantilever.
#[test]
fn overhang_is_a_cantilever() {
    let sheet = DeckSurface::Sheet { material: "birch plywood".into(), thickness_mm: 12.0, grain_across: true };
    let mut design = frame(sheet, Posture::Kneeling, [3100.0, 0.0]).design().clone();
    design.people[0].at_mm = vec![[3250.0, 0.0]];
    design.decks[0].from_mm = Some([1900.0, -600.0]);
    design.decks[0].to_mm = Some([3300.0, 600.0]);
    let found = checks(&Frame::new(&design).unwrap(), 2).unwrap();
    let own = 1.35 * 695.0 * 12e-9 * 9.80665 * 80.0;
    let moment = 1.5 * 980.665 * 50.0 + own * 100.0 * 100.0 / 2.0;
    let bending = find(&found, CheckKind::DeckBending);
    close(bending.demand, moment / 1920.0, 1e-9);
    close(bending.point_mm[0], 3200.0, 1e-12);
    close(bending.at_mm, 1300.0, 1e-12);
}

#[test]
fn okoume_is_weighed_but_not_checked() {
    let sheet = DeckSurface::Sheet { material: "okoume plywood".into(), thickness_mm: 12.0, grain_across: true };
    let found = checks(&frame(sheet, Posture::Kneeling, [2450.0, 0.0]), 2).unwrap();
    assert!(found.checks.is_empty());
    assert_eq!(found.not_checked, [NotChecked { tag: "D1".into(), what: Unchecked::StrengthUnknown }]);
}

/// Slats that nobody graded bend as C14 (0.9 · 14 · 1.3/1.3); slats sawn out of birch plywood as the sheet in its weaker
/// direction (0.9 · 33.2/1.2), planar shear 1.75.
#[test]
fn slats_of_unknown_grade_and_of_sheet() {
    let slats = |change: fn(&mut Stock)| {
        let surface = DeckSurface::Slats { stock: "18x70".into(), gap_mm: 50.0 };
        let mut design = frame(surface, Posture::Sitting, [2450.0, 0.0]).design().clone();
        change(&mut design.stock[1]);
        let found = checks(&Frame::new(&design).unwrap(), 2).unwrap();
        assert!(found.not_checked.is_empty());
        [CheckKind::DeckBending, CheckKind::DeckShear].map(|kind| find(&found, kind).resistance)
    };
    let ungraded = slats(|stock| stock.grading = crate::design::Grading::Assumed);
    close(ungraded[0], 12.6, 1e-12);
    close(ungraded[1], 0.9 * 3.0 / 1.3, 1e-12);
    let sheet = slats(|stock| {
        stock.material = Material::Class("birch plywood".into());
        stock.section = Section::Rectangle { width_mm: 70.0, depth_mm: 12.0 };
    });
    close(sheet[0], 0.9 * 33.2 / 1.2, 1e-12);
    close(sheet[1], 0.9 * 1.75 / 1.2, 1e-12);
}

/// The cases of a frame's first deck: name, pressure, and patches as centre, sides and force.
fn cases_of(design: &Design) -> Vec<DeckCase> {
    let frame = Frame::new(design).unwrap_or_else(|violations| panic!("{violations:?}"));
    loads::cases(&frame, &frame.decks[0], &design.decks[0])
}

/// Up to three boxes are cases of their own, more are one; what weighs nothing is none. A box presses on its footprint.
#[test]
fn boxes_are_cases() {
    let slats = DeckSurface::Slats { stock: "18x70".into(), gap_mm: 50.0 };
    let mut design = frame(slats, Posture::Sitting, [2450.0, 0.0]).design().clone();
    design.people.clear();
    let stow = |index: usize, mass_kg: f64| Stowage {
        name: format!("box {index}"),
        mass_kg,
        at: [2200.0 + 250.0 * index as f64, 10.0 * index as f64, 500.0],
        size: [200.0, 300.0, 150.0],
        on: Some("D1".into()),
    };
    let on_the_floor = Stowage { name: "chest".into(), on: None, ..stow(5, 50.0) };
    design.stowage = vec![stow(1, 10.0), stow(2, 20.0), stow(3, 0.0), stow(4, 40.0), on_the_floor];
    let names = |cases: &[DeckCase]| cases.iter().map(|case| case.case.name.clone()).collect::<Vec<_>>();
    let cases = cases_of(&design);
    assert_eq!(names(&cases), ["own weight", "box 1", "box 2", "box 4"]);
    let (patch, force) = cases[2].patches[0];
    close(force, 20.0 * 9.80665, 1e-12);
    assert_eq!((patch.across, patch.along), ([2600.0, 2800.0], [-130.0, 170.0]));
    design.stowage[2].mass_kg = 30.0;
    let cases = cases_of(&design);
    assert_eq!(names(&cases), ["own weight", "gear"]);
    close(cases[1].patches.iter().map(|(_, force)| force).sum(), 100.0 * 9.80665, 1e-12);
}

/// Lying, a person's whole weight lies on the deck in parts.
#[test]
fn a_sleeper_lies_in_parts() {
    let slats = DeckSurface::Slats { stock: "18x70".into(), gap_mm: 50.0 };
    let mut design = frame(slats, Posture::Sitting, [2450.0, 0.0]).design().clone();
    design.people[0].posture = Posture::Lying;
    design.people[0].at_mm = vec![[2600.0, 0.0]];
    let cases = cases_of(&design);
    assert!(cases[1].patches.len() > 2, "{:?}", cases[1]);
    close(cases[1].patches.iter().map(|(_, force)| force).sum(), 100.0 * 9.80665, 1e-9);
}

/// Given pressures of one case add up; another name is a case of its own.
#[test]
fn pressures_of_one_case_add_up() {
    let slats = DeckSurface::Slats { stock: "18x70".into(), gap_mm: 50.0 };
    let mut design = frame(slats, Posture::Sitting, [2450.0, 0.0]).design().clone();
    design.people.clear();
    let load = |case: &str, action, pressure_n_mm2| Load {
        case: case.into(),
        action,
        what: LoadKind::Area { deck: "D1".into(), pressure_n_mm2 },
    };
    design.loads = vec![
        load("tiles", Action::Permanent, 1e-4),
        load("tools", Action::Permanent, 2e-4),
        load("tools", Action::Permanent, 4e-4),
    ];
    let cases = cases_of(&design);
    let found: Vec<_> = cases[1..].iter().map(|c| (c.case.name.as_str(), c.case.action, c.pressure_n_mm2)).collect();
    assert_eq!(found.len(), 2);
    for (found, wanted) in found.into_iter().zip([("tiles", 1e-4), ("tools", 6e-4)]) {
        assert_eq!((found.0, found.1), (wanted.0, Action::Permanent));
        close(found.2, wanted.1, 1e-12);
    }
}

/// A case touches a strip over a span only where one of its patches lies on both.
#[test]
fn a_case_touches_what_its_patches_lie_on() {
    let reach = Reach { start_mm: 1000.0, direction: 1.0, length_mm: 300.0, cantilever: false };
    let mut case = DeckCase::new("box", Action::Stowage, false, road_away());
    case.patches.push((Patch { across: [1100.0, 1200.0], along: [0.0, 200.0] }, 100.0));
    assert!(case.touches(&reach, [150.0, 250.0]));
    assert!(!case.touches(&reach, [250.0, 350.0]), "beside the strip");
    assert!(!case.touches(&Reach { start_mm: 1300.0, ..reach }, [150.0, 250.0]), "before the span");
}

fn road_away() -> crate::rules::combine::OnRoad {
    crate::rules::combine::OnRoad::Away
}

/// A point is taken as 1 mm wide about its place; what is wider stays as it is.
#[test]
fn a_patch_is_never_a_point() {
    let solid = |across, along| {
        let patch = loads::solid(Patch { across, along });
        (patch.across, patch.along)
    };
    assert_eq!(solid([100.0, 100.0], [20.0, 20.4]), ([99.5, 100.5], [19.5, 20.9]));
    assert_eq!(solid([100.0, 101.0], [20.0, 50.0]), ([100.0, 101.0], [20.0, 50.0]));
}

/// Slats sawn out of a sheet whose strength in its plane nobody states are weighed, not checked.
#[test]
fn slats_of_a_sheet_without_figures() {
    let surface = DeckSurface::Slats { stock: "18x70".into(), gap_mm: 50.0 };
    let mut design = frame(surface, Posture::Sitting, [2450.0, 0.0]).design().clone();
    design.stock[1].material = Material::Class("poplar plywood".into());
    design.stock[1].section = Section::Rectangle { width_mm: 70.0, depth_mm: 15.0 };
    let found = checks(&Frame::new(&design).unwrap(), 2).unwrap();
    assert_eq!(found.not_checked, [NotChecked { tag: "D1".into(), what: Unchecked::StrengthUnknown }]);
}
