//! The frame on the road and what its anchors must hold down, through the whole engine: by hand, and as what must hold
//! of every frame.
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
#[path = "frames/random.rs"]
mod random;
#[path = "frames/read.rs"]
mod read;
#[path = "road/shelf.rs"]
mod shelf;
#[path = "frames/vectors.rs"]
mod vectors;

use battenboard_engine::design::{
    Action, Deck, DeckSurface, Design, Frame, Hold, Load, LoadKind, Material, Section, Stowage, Vector,
};
use battenboard_engine::findings::{AssumptionCode, Check, CheckKind, Findings, StateResults, Unchecked};
use chance::Chance;
use random::Kinds;
use vectors::{add, cross, norm, point, scale};

/// Standard gravity, m/s².
const G: f64 = 9.80665;

fn state<'a>(findings: &'a Findings, name: &str) -> &'a StateResults {
    let states = &findings.results.as_ref().unwrap().states;
    let mut found = states.iter().filter(|state| state.combined && state.name == name);
    found.next_back().unwrap_or_else(|| panic!("no combination `{name}`"))
}

fn close(found: f64, wanted: f64, what: &str) {
    assert!((found - wanted).abs() <= 1e-9 * wanted.abs().max(1.0), "{what}: {found} against {wanted}");
}

fn van(design: &mut Design, gross_limit_kg: f64) {
    design.vehicle.gross_limit_kg = Some(gross_limit_kg);
}

/// A weightless post 600 high, rigid at the floor, with 20 kg fixed to its top.
fn post() -> Design {
    let mut design = build::blank("post");
    design.stock.push(build::stock("45x45", 9_000.0, 560.0, build::rectangle(45.0, 45.0)));
    design.members.push(build::member("P1", "45x45", [2_000.0, 300.0, 0.0], [2_000.0, 300.0, 600.0]));
    design.anchors.push(build::anchor("P1/floor", "P1", 0.0, Hold::Rigid));
    let what = LoadKind::Mass { member: "P1".into(), at_mm: 600.0, mass_kg: 20.0 };
    design.loads.push(Load { case: "pump".into(), action: Action::Permanent, what });
    van(&mut design, 3_500.0);
    design
}

/// By hand: 20 kg weigh 196.133 N. Braking pushes them with 1.35 x 0.8 x 196.133 = 211.824 N towards -x at 600 mm over
/// the floor: the floor answers with +211.824 N, carries 264.780 N and turns the post back with 127 094 N·mm about +y.
#[test]
fn post_with_a_mass_at_its_top() {
    let weight = 20.0 * G;
    let findings = read::solve(&post());
    let [x, y, z, a, b, c] = read::reaction(state(&findings, "braking"), "P1/floor");
    for (found, wanted) in [(x, 1.08 * weight), (y, 0.0), (z, 1.35 * weight), (a, 0.0), (c, 0.0)] {
        close(found, wanted, "braking");
    }
    close(b, 1.08 * weight * 600.0, "turn about y");
    close(b, 127_094.184, "the same in figures");
    // A bend to the left pushes to the right, towards +y; at height z that turns about -x, the floor back about +x.
    let [x, y, z, a, b, _] = read::reaction(state(&findings, "a bend to the left"), "P1/floor");
    for (found, wanted) in [(x, 0.0), (y, -0.81 * weight), (z, 1.35 * weight), (b, 0.0)] {
        close(found, wanted, "bend");
    }
    close(a, 0.81 * weight * 600.0, "turn about x");
    let [.., z, _, _, _] = read::reaction(state(&findings, "a bump pressing down"), "P1/floor");
    close(z, 2.7 * weight, "bump down");
    let [.., z, _, _, _] = read::reaction(state(&findings, "a bump throwing up"), "P1/floor");
    close(z, -0.675 * weight, "bump up");
    // Thrown up with 0.5 g net it must be held with 1.1 x 0.5 of its weight (EQU: a permanent load that lifts).
    let hold = &findings.hold_downs;
    assert_eq!((hold.len(), hold[0].anchor.as_str()), (1, "P1/floor"));
    assert_eq!(hold[0].combination, "a bump throwing up");
    close(hold[0].force_n, 1.1 * 0.5 * weight, "hold-down");
}

/// Under 2.0 t, or not known: 0.9 g and 0.7 g. Stated values go first and are said.
#[test]
fn accelerations_by_the_vehicle() {
    let mut design = post();
    van(&mut design, 1_900.0);
    let findings = read::solve(&design);
    close(read::reaction(state(&findings, "braking"), "P1/floor")[0], 1.35 * 0.9 * 20.0 * G, "light");
    let code = |findings: &Findings, code| findings.assumptions.iter().find(|a| a.code == code).cloned();
    assert_eq!(code(&findings, AssumptionCode::TravelAcceleration).unwrap().value, Some(0.9));
    assert_eq!(code(&findings, AssumptionCode::FactorChanged), None);
    design.settings.road_g = Some([1.0, 0.5, 0.5, 3.0, 1.0]);
    let findings = read::solve(&design);
    close(read::reaction(state(&findings, "braking"), "P1/floor")[0], 1.35 * 20.0 * G, "stated");
    assert_eq!(code(&findings, AssumptionCode::FactorChanged).unwrap().about, ["road"]);
    design.settings.road_g = Some([f64::NAN, 0.5, 0.5, 3.0, 1.0]);
    assert!(Frame::new(&design).is_err());
}

/// Two level beams under a deck, on two posts each, overhanging rearwards: weightless timber, a sheet from x 1000 to
/// 2500, posts at 1000 and 2000.
fn overhang() -> Design {
    let mut design = build::blank("overhang");
    design.stock.push(build::stock("45x70", 9_000.0, 560.0, build::rectangle(45.0, 70.0)));
    if let Section::Given(given) = &mut design.stock[0].section {
        (given.width_mm, given.depth_mm) = (Some(45.0), Some(70.0));
    }
    for (tag, y) in [("BL", -300.0), ("BR", 300.0)] {
        design.members.push(build::member(tag, "45x70", [1_000.0, y, 365.0], [2_500.0, y, 365.0]));
        for (end, at) in [("front", 0.0), ("rear", 1_000.0)] {
            // Held against roll, so that the beams stand.
            let hold = if end == "front" { Hold::Seated } else { Hold::Pinned };
            design.anchors.push(build::anchor(&format!("{tag}/{end}"), tag, at, hold));
        }
    }
    design.decks = vec![Deck {
        tag: "D1".into(),
        surface: DeckSurface::Sheet { material: "birch plywood".into(), thickness_mm: 12.0, grain_across: true },
        carried_by: vec!["BL".into(), "BR".into()],
        ..Deck::default()
    }];
    van(&mut design, 3_500.0);
    design
}

/// By hand, by moments about the rear posts, for one beam. The sheet weighs `q` N/mm on each beam: the front post gets
/// q 1000 500/1000 = 500 q of the back-span and -q 500 250/1000 = -125 q of the overhang. A person of 100 kg sitting
/// on the rear edge (200 deep, middle 2400) in the middle between the beams: 490.3 N on each, 400 behind the rear post:
/// -196.13 N. EQU (EN 1990 table A1.2(A)): 1.5 x 196.133 - 0.9 x 500 q + 1.1 x 125 q.
#[test]
fn overhang_with_somebody_at_its_end() {
    let mut design = overhang();
    design.people = vec![battenboard_engine::design::People {
        name: "everybody at the rear edge".into(),
        posture: battenboard_engine::design::Posture::Sitting,
        deck: "D1".into(),
        at_mm: vec![[2_400.0, 0.0]],
        ..Default::default()
    }];
    let findings = read::solve(&design);
    // 645 wide over the beams' outer faces, 1500 long.
    let q = findings.weight.frame_kg * G / 2.0 / 1_500.0;
    let by_hand = 1.5 * 50.0 * G * 0.4 - 0.9 * 500.0 * q + 1.1 * 125.0 * q;
    let found = |anchor: &str| findings.hold_downs.iter().find(|h| h.anchor == anchor).unwrap();
    for anchor in ["BL/front", "BR/front"] {
        assert_eq!(found(anchor).combination, "everybody at the rear edge");
        close(found(anchor).force_n, by_hand, anchor);
    }
    // Hardest pulled first.
    assert!(findings.hold_downs.windows(2).all(|w| w[0].force_n >= w[1].force_n));
    // A sheet of one factor for all would say less: the back-span's 0.9 is not the overhang's 1.1.
    assert!(by_hand > 1.5 * 50.0 * G * 0.4 - 0.9 * 375.0 * q);
}

/// The same platform without people: thrown up by 0.5 g net every part of the sheet lifts or presses by where it lies.
/// Front post: -0.5 (500 q) lifts, +0.5 (125 q) presses: 1.1 x 250 q - 0.9 x 62.5 q to hold. Rear post: 500 q of the
/// back-span and 500 + 125 q of the overhang: 1.1 x 0.5 x 1125 q.
#[test]
fn overhang_thrown_up() {
    let findings = read::solve(&overhang());
    let q = findings.weight.frame_kg * G / 2.0 / 1_500.0;
    let found = |anchor: &str| findings.hold_downs.iter().find(|h| h.anchor == anchor).unwrap();
    close(found("BL/front").force_n, (1.1 * 250.0 - 0.9 * 62.5) * q, "front");
    close(found("BR/rear").force_n, 1.1 * 0.5 * 1_125.0 * q, "rear");
    assert_eq!(found("BR/rear").combination, "a bump throwing up");
}

/// A box of 40 kg, 600 high, on the platform: braking tips it forwards. Its middle is 300 over the sheet, that is 347
/// over the beams' axes: the couple 1.2 x 40 g x 347 lifts the rear posts and presses the front ones, beside its weight.
#[test]
fn box_on_a_deck_tips_the_frame() {
    let mut design = overhang();
    let at = [1_500.0, 0.0, 400.0 + 12.0 + 300.0];
    let size = [400.0, 300.0, 600.0];
    design.stowage = vec![Stowage { name: "dive bottles".into(), mass_kg: 40.0, at, size, on: Some("D1".into()) }];
    let findings = read::solve(&design);
    let sheet = findings.weight.frame_kg * G;
    let braking = state(&findings, "braking, with dive bottles");
    let up = |end: &str| -> f64 {
        ["BL", "BR"].iter().map(|beam| read::reaction(braking, &format!("{beam}/{end}"))[2]).sum()
    };
    let push = 0.8 * (1.5 * 40.0 * G * 347.0 + 1.35 * sheet * 41.0);
    // By moments about the rear posts: the box 500 before them, the sheet 250 before them, the push on the front.
    let front = (1.5 * 40.0 * G * 500.0 + 1.35 * sheet * 250.0 + push) / 1_000.0;
    close(up("front"), front, "front posts");
    close(up("front") + up("rear"), 1.5 * 40.0 * G + 1.35 * sheet, "all posts");
    let gear: Vec<&str> =
        findings.not_checked.iter().filter(|n| n.what == Unchecked::GearFixings).map(|n| n.tag.as_str()).collect();
    assert_eq!(gear, ["D1"]);
}

/// Random frames of timber with masses: on the road the reactions balance factored mass x (g + a) at the masses'
/// places, forces and moments. Summed here from the design alone.
#[test]
fn reactions_balance_mass_times_acceleration() {
    let mut tried = 0;
    for seed in 0..60 {
        let mut chance = Chance::new(seed ^ 0x70ad);
        let kinds = Kinds { members: 2 + chance.below(5), cases: 0, ..Kinds::mixed(&mut chance) };
        let mut design = random::frame(77_000 + seed, kinds);
        for stock in &mut design.stock {
            if let Material::Given { density_kg_m3, .. } = &mut stock.material {
                *density_kg_m3 = chance.between(300.0, 900.0);
            }
        }
        for (index, action) in [Action::Permanent, Action::Stowage, Action::Stowage].into_iter().enumerate() {
            let member = design.members[chance.below(design.members.len())].clone();
            let at_mm = vectors::length(&member) * chance.between(0.1, 0.9);
            let what = LoadKind::Mass { member: member.tag, at_mm, mass_kg: chance.between(1.0, 40.0) };
            design.loads.push(Load { case: format!("mass {index}"), action, what });
        }
        let findings = read::solve(&design);
        for (name, push, own, gear) in [
            ("braking, with mass 1 and mass 2", [-0.9, 0.0, -1.0], 1.35, [1.5, 1.5]),
            ("pulling away, with mass 2; own weight at its least", [0.5, 0.0, -1.0], 1.0, [0.0, 1.5]),
            ("a bend to the right, empty", [0.0, -0.7, -1.0], 1.35, [0.0, 0.0]),
            ("a bump throwing up, with mass 1 and mass 2; own weight at its least", [0.0, 0.0, 0.5], 1.0, [1.5, 1.5]),
        ] {
            expect_balance(&design, state(&findings, name), push, own, gear);
            tried += 1;
        }
    }
    assert_eq!(tried, 240);
}

fn expect_balance(design: &Design, state: &StateResults, push: Vector, own: f64, gear: [f64; 2]) {
    let (mut sum, mut size) = ([[0.0; 3]; 2], [0.0_f64; 2]);
    let mut put = |at: Vector, force: Vector, moment: Vector| {
        let moment = add(moment, cross(at, force));
        sum = [add(sum[0], force), add(sum[1], moment)];
        size = [size[0].max(norm(force)), size[1].max(norm(moment))];
    };
    for member in &design.members {
        let stock = design.stock.iter().find(|stock| stock.name == member.stock).unwrap();
        let (Section::Given(section), Material::Given { density_kg_m3, .. }) = (&stock.section, &stock.material) else {
            panic!("random frames are given by figures");
        };
        let length = vectors::length(member);
        let mass_kg = section.area_mm2 * length * 1e-9 * density_kg_m3;
        put(point(member, 0.5 * length), scale(push, own * mass_kg * G), [0.0; 3]);
    }
    for (load, factor) in design.loads.iter().zip([own, gear[0], gear[1]]) {
        let LoadKind::Mass { member, at_mm, mass_kg } = &load.what else { panic!("masses only") };
        let member = design.members.iter().find(|one| one.tag == *member).unwrap();
        put(point(member, *at_mm), scale(push, factor * mass_kg * G), [0.0; 3]);
    }
    for anchor in &design.anchors {
        let member = design.members.iter().find(|member| member.tag == anchor.member).unwrap();
        let [x, y, z, a, b, c] = read::reaction(state, anchor.tag.as_deref().unwrap());
        put(point(member, anchor.at_mm), [x, y, z], [a, b, c]);
    }
    for (sum, size) in sum.into_iter().zip(size) {
        assert!(norm(sum) <= 1e-8 * size, "{} {}: {sum:?} of {size}", design.name, state.name);
    }
}

/// The parts of the own weight add up to the reaction: 1.1 of what lifts less 0.9 of what presses is never less than 1.1
/// of the net pull, and never more than 1.1 of it and a fifth of what presses (here: of the frame's whole weight).
#[test]
fn hold_downs_agree_with_the_reactions() {
    let mut lifted = 0;
    for seed in 0..80 {
        let mut chance = Chance::new(seed ^ 0x401d);
        let kinds = Kinds { members: 3, closing: 1, anchors: 2, cases: 0, ..Kinds::mixed(&mut chance) };
        let mut design = random::frame(88_000 + seed, kinds);
        for stock in &mut design.stock {
            if let Material::Given { density_kg_m3, .. } = &mut stock.material {
                *density_kg_m3 = 500.0;
            }
        }
        design.settings.road_g = Some([0.0, 0.0, 0.0, 1.0, 0.0]);
        let findings = read::solve(&design);
        let own = read::case(&findings, "own weight");
        for anchor in &design.anchors {
            let tag = anchor.tag.as_deref().unwrap();
            let pull = -read::reaction(own, tag)[2];
            let held = findings.hold_downs.iter().find(|h| h.anchor == tag).map_or(0.0, |h| h.force_n);
            assert!(held >= 1.1 * pull - 1.0, "{} {tag}: {held} for a net pull of {pull}", design.name);
            lifted += usize::from(pull > 1.0);
        }
    }
    assert!(lifted > 5, "only {lifted} anchors are pulled at all");
}

/// A passenger's seat on a deck is refused with the safety words, naming both.
#[test]
fn nobody_rides_on_a_deck() {
    let mut design = overhang();
    let seat = |x_mm| battenboard_engine::design::Seat { x_mm, y_mm: 100.0, mass_kg: 75.0 };
    design.vehicle.seats = vec![seat(900.0), seat(1_500.0)];
    let refused = Frame::new(&design).unwrap_err();
    assert_eq!(refused.len(), 1);
    assert_eq!(refused[0].path, "vehicle.seats[1]");
    assert!(refused[0].message.contains("`D1`") && refused[0].message.contains("licensed people"));
    design.vehicle.seats.pop();
    assert!(Frame::new(&design).is_ok());
}

/// Loads given in newtons have no known mass: said, and only once for each place.
#[test]
fn newtons_are_not_checked_on_the_road() {
    let mut design = overhang();
    let area = |action| Load {
        case: format!("{action:?}"),
        action,
        what: LoadKind::Area { deck: "D1".into(), pressure_n_mm2: 1e-4 },
    };
    design.loads = vec![area(Action::Permanent), area(Action::Stowage), area(Action::Moving)];
    let findings = read::solve(&design);
    let told: Vec<&str> =
        findings.not_checked.iter().filter(|n| n.what == Unchecked::Travelling).map(|n| n.tag.as_str()).collect();
    assert_eq!(told, ["D1"]);
    // They stay as they rest: 1.35 and 1.5 of their weight, no push.
    let sheet = findings.weight.frame_kg * G;
    let area = 645.0 * 1_500.0 * 1e-4;
    let braking = state(&findings, "braking, with Stowage");
    let sum = braking.reactions.iter().fold([0.0; 3], |sum, r| add(sum, r.force_n));
    close(sum[2], 1.35 * (sheet + area) + 1.5 * area, "down");
    close(sum[0], 1.35 * 0.8 * sheet, "forwards");
}

/// A deck feels bumps: at 2 g down all on it weighs twice as much. The stresses are linear, so twice those at rest; with
/// no more than 1 g down the box at rest governs.
#[test]
fn deck_under_gear_over_a_bump() {
    let mut design = overhang();
    let size = [400.0, 300.0, 600.0];
    design.stowage = vec![Stowage {
        name: "dive bottles".into(),
        mass_kg: 40.0,
        at: [1_500.0, 0.0, 712.0],
        size,
        on: Some("D1".into()),
    }];
    let bump = worst(&read::solve(&design), CheckKind::DeckBending);
    design.settings.road_g = Some([0.8, 0.5, 0.6, 1.0, 0.5]);
    let rest = worst(&read::solve(&design), CheckKind::DeckBending);
    assert_eq!(bump.combination, "a bump pressing down, with dive bottles");
    assert_eq!(rest.combination, "dive bottles");
    close(bump.demand, 2.0 * rest.demand, "stress");
}

fn worst(findings: &Findings, kind: CheckKind) -> Check {
    findings.checks.iter().find(|check| check.kind == kind).unwrap().clone()
}
