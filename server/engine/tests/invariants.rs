//! What must hold of every frame, whatever it looks like: equilibrium, superposition, the same answer however the frame
//! is said, reciprocity, and what a stiffer part does.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    missing_docs,
    dead_code,
    reason = "a test ends where it finds a fault, and uses a part of the shared helpers"
)]

#[path = "frames/alter.rs"]
mod alter;
#[path = "frames/bars.rs"]
mod bars;
#[path = "frames/build.rs"]
mod build;
#[path = "frames/chance.rs"]
mod chance;
#[path = "frames/dense.rs"]
mod dense;
#[path = "frames/difference.rs"]
mod difference;
#[path = "frames/random.rs"]
mod random;
#[path = "frames/read.rs"]
mod read;
#[path = "frames/stiffer.rs"]
mod stiffer;
#[path = "frames/vectors.rs"]
mod vectors;

use battenboard_engine::design::{Action, Anchor, Design, Hold, Load, LoadKind, Material, Section, Vector};
use battenboard_engine::findings::{CheckKind, Findings, StateResults};
use chance::Chance;
use difference::Difference;
use random::{Kinds, case_name};
use stiffer::{figures, scale_modulus, spring_force, with_point_loads, work};
use vectors::{add, cross, dot, length, norm, point, scale, sub};

/// Nothing that is said of the same frame may differ by more.
const SAME: f64 = 1e-9;
const FRAMES: u64 = 100;

/// [`SAME`], or what rounding alone does at a poor condition.
fn same(condition: f64) -> f64 {
    SAME.max(f64::EPSILON * condition)
}

/// Random frames with more than one member, each with chance of its own.
fn frames(block: u64) -> impl Iterator<Item = (u64, Design, Chance)> {
    (0..FRAMES).map(move |number| {
        let seed = 1_000_000 * block + number;
        let mut chance = Chance::new(seed ^ 0xabcd);
        let kinds = Kinds { members: 2 + chance.below(5), ..Kinds::mixed(&mut chance) };
        (seed, random::frame(seed, kinds), chance)
    })
}

fn cases(design: &Design) -> Vec<String> {
    let mut cases: Vec<String> = design.loads.iter().map(|load| load.case.clone()).collect();
    cases.sort();
    cases.dedup();
    cases
}

/// Compares the given load cases of two runs, the second first said in the terms of the first.
fn expect_same(design: &Design, one: &Findings, other: &Findings, back: impl Fn(&StateResults) -> StateResults) {
    for case in cases(design) {
        let worst = Difference::of(&back(read::case(other, &case)), read::case(one, &case)).worst();
        // A worse condition costs digits in either way of saying it.
        let condition = one.equations.condition.max(other.equations.condition);
        let allowed = same(condition);
        assert!(worst <= allowed, "{} {case}: {worst:e} at condition {condition:e}", design.name);
    }
}

/// Force and moment about the origin of a force and moment at a point.
fn about_origin(at: Vector, force: Vector, moment: Vector) -> [f64; 6] {
    let moment = add(moment, cross(at, force));
    [force[0], force[1], force[2], moment[0], moment[1], moment[2]]
}

fn sum_up(sum: &mut [f64; 6], size: &mut [f64; 2], wrench: [f64; 6], sign: f64) {
    for k in 0..6 {
        sum[k] += sign * wrench[k];
        size[k / 3] = size[k / 3].max(wrench[k].abs());
    }
}

/// `size` holds the greatest force and moment of the frame that takes part.
fn expect_balance(what: &str, sum: [f64; 6], size: [f64; 2]) {
    for k in 0..6 {
        assert!(sum[k].abs() <= 1e-9 * size[k / 3], "{what}: out of balance by {sum:?} of {size:?}");
    }
}

/// The loads and the reactions of the whole frame cancel.
#[test]
fn loads_and_reactions_balance() {
    for (_, design, _) in frames(1) {
        let findings = read::solve(&design);
        for case in cases(&design) {
            let state = read::case(&findings, &case);
            let (mut sum, mut size) = ([0.0; 6], [0.0; 2]);
            sum_up(&mut sum, &mut size, bars::load_sum(&design, &case), 1.0);
            for anchor in &design.anchors {
                let member = design.members.iter().find(|member| member.tag == anchor.member).unwrap();
                let [x, y, z, a, b, c] = read::reaction(state, anchor.tag.as_deref().unwrap());
                let wrench = about_origin(point(member, anchor.at_mm), [x, y, z], [a, b, c]);
                sum_up(&mut sum, &mut size, wrench, 1.0);
            }
            expect_balance(&format!("{} {case}", design.name), sum, size);
        }
    }
}

/// The loads, joint forces and reactions on every single member cancel; what one side of a joint takes the other gives.
#[test]
fn every_member_is_in_balance() {
    for (_, design, _) in frames(2) {
        let findings = read::solve(&design);
        for case in cases(&design) {
            let state = read::case(&findings, &case);
            let (mut whole, mut size) = ([0.0; 6], [0.0; 2]);
            sum_up(&mut whole, &mut size, bars::load_sum(&design, &case), 1.0);
            for member in &design.members {
                let mut alone = design.clone();
                alone.members.retain(|other| other.tag == member.tag);
                alone.loads.retain(|load| load_on(load, &member.tag));
                let mut sum = [0.0; 6];
                sum_up(&mut sum, &mut size, bars::load_sum(&alone, &case), 1.0);
                for anchor in design.anchors.iter().filter(|anchor| anchor.member == member.tag) {
                    let [x, y, z, a, b, c] = read::reaction(state, anchor.tag.as_deref().unwrap());
                    sum_up(&mut sum, &mut size, about_origin(point(member, anchor.at_mm), [x, y, z], [a, b, c]), 1.0);
                }
                for joint in &design.joints {
                    let carried = design.members.iter().find(|other| other.tag == joint.member).unwrap();
                    let [x, y, z, a, b, c] = read::joint(state, joint.tag.as_deref().unwrap());
                    // Both sides meet at the place on the carried member; the arm is rigid on the carrying side.
                    let wrench = about_origin(point(carried, joint.at_mm.unwrap()), [x, y, z], [a, b, c]);
                    if joint.member == member.tag {
                        sum_up(&mut sum, &mut size, wrench, 1.0);
                    } else if joint.on == member.tag {
                        sum_up(&mut sum, &mut size, wrench, -1.0);
                    }
                }
                expect_balance(&format!("{} {case} {}", design.name, member.tag), sum, size);
            }
        }
    }
}

fn load_on(load: &Load, tag: &str) -> bool {
    match &load.what {
        LoadKind::Point { member, .. } | LoadKind::Line { member, .. } | LoadKind::Mass { member, .. } => member == tag,
        LoadKind::Area { .. } => false,
    }
}

/// Two load cases in one give the sum of both; a load times a factor gives the answer times the factor.
#[test]
fn loads_add_up() {
    for (_, design, mut chance) in frames(3) {
        let one = read::solve(&design);
        let mut together = design.clone();
        let factor = chance.between(-3.0, 3.0);
        for load in &mut together.loads {
            load.case = build::CASE.into();
            match &mut load.what {
                LoadKind::Point { force_n, moment_n_mm, .. } => {
                    (*force_n, *moment_n_mm) = (scale(*force_n, factor), scale(*moment_n_mm, factor));
                }
                LoadKind::Line { start_n_mm, end_n_mm, .. } => {
                    (*start_n_mm, *end_n_mm) = (scale(*start_n_mm, factor), scale(*end_n_mm, factor));
                }
                _ => {}
            }
        }
        let other = read::solve(&together);
        let mut sum = read::total(&one);
        multiply(&mut sum, factor);
        let worst = Difference::of(read::case(&other, build::CASE), &sum).worst();
        let allowed = same(one.equations.condition);
        assert!(worst <= allowed, "{}: {worst:e}", design.name);
    }
}

fn multiply(state: &mut StateResults, factor: f64) {
    for place in state.members.iter_mut().flat_map(|member| &mut member.places) {
        place.displacement = place.displacement.map(|value| value * factor);
        place.forces_before = read::resultants(read::six(place.forces_before).map(|value| value * factor));
        place.forces_after = read::resultants(read::six(place.forces_after).map(|value| value * factor));
    }
    for forces in state.reactions.iter_mut().chain(&mut state.joints) {
        forces.force_n = scale(forces.force_n, factor);
        forces.moment_n_mm = scale(forces.moment_n_mm, factor);
    }
}

#[test]
fn members_turned_end_for_end_change_nothing() {
    for (_, design, mut chance) in frames(4) {
        let tags: Vec<&str> =
            design.members.iter().map(|member| member.tag.as_str()).filter(|_| chance.percent(60)).collect();
        let other = read::solve(&alter::reversed(&design, &tags));
        expect_same(&design, &read::solve(&design), &other, |state| alter::reversed_back(state, &tags));
    }
}

#[test]
fn another_order_changes_nothing() {
    for (_, design, mut chance) in frames(5) {
        let other = read::solve(&alter::shuffled(&design, &mut chance));
        expect_same(&design, &read::solve(&design), &other, Clone::clone);
    }
}

#[test]
fn a_member_cut_and_joined_rigidly_changes_nothing() {
    for (_, design, mut chance) in frames(6) {
        let number = chance.below(design.members.len());
        let member = &design.members[number];
        // Not so close to another place that the piece between is stiffer than double precision can tell.
        let Some(at) = random::clear_place(&design, &mut chance, number) else { continue };
        let other = read::solve(&alter::cut(&design, &member.tag, at));
        expect_same(&design, &read::solve(&design), &other, |state| alter::cut_back(state, &member.tag, at));
    }
}

/// Further places along members (loads of no size) change nothing.
#[test]
fn extra_places_change_nothing() {
    for (_, design, mut chance) in frames(7) {
        let mut finer = design.clone();
        for member in &design.members {
            for _ in 0..3 {
                let at = chance.between(0.02, 0.98) * length(member);
                finer.loads.push(build::mark(&case_name(0), &member.tag, at));
            }
        }
        expect_same(&design, &read::solve(&design), &read::solve(&finer), Clone::clone);
    }
}

#[test]
fn turning_the_whole_frame_in_plan_turns_the_answer() {
    for (_, mut design, mut chance) in frames(8) {
        alter::holds_in_member_axes(&mut design);
        let angle = chance.between(0.1, 6.0);
        let other = read::solve(&alter::turned(&design, angle));
        expect_same(&design, &read::solve(&design), &other, |state| alter::turned_back(state, angle));
    }
}

/// Maxwell and Betti: the work of one load on the movement under another is the same the other way round.
#[test]
fn work_is_the_same_both_ways() {
    for (_, mut design, mut chance) in frames(9) {
        design.loads.clear();
        let mut spots = Vec::new();
        for case in 0..2 {
            let member = &design.members[chance.below(design.members.len())];
            let (tag, at) = (member.tag.clone(), chance.between(0.0, 1.0) * length(member));
            let (force, moment) = (chance.vector(100.0), chance.vector(3e4));
            design.loads.push(build::point_load(&case_name(case), &tag, at, force, moment));
            spots.push((tag, at, force, moment));
        }
        let findings = read::solve(&design);
        let work = |load: usize, movement: usize| {
            let (tag, at, force, moment) = &spots[load];
            let [x, y, z, a, b, c] = read::place(read::case(&findings, &case_name(movement)), tag, *at).displacement;
            dot(*force, [x, y, z]) + dot(*moment, [a, b, c])
        };
        let (one, other) = (work(0, 1), work(1, 0));
        // Where the two hardly feel each other, rounding of their own work is what is left.
        let size = (work(0, 0) * work(1, 1)).abs().sqrt();
        let allowed = size * same(findings.equations.condition);
        assert!((one - other).abs() <= allowed, "{}: {one:e} {other:e} of {size:e}", design.name);
        assert!(work(0, 0) > 0.0 && work(1, 1) > 0.0, "{}: a load does work on its own movement", design.name);
    }
}

/// A spring 1 % stiffer: the loads sink less, and by as much as the forces in that spring before and after say
/// (virtual work: change = force before x force after x change of its give).
#[test]
fn a_stiffer_spring_helps_by_what_its_force_says() {
    let mut tried = 0;
    for (_, design, mut chance) in frames(10) {
        let mut soft = with_point_loads(&design, &mut chance);
        let Some(stiffness) = stiffer::first_spring(&mut soft).copied() else { continue };
        let mut stiff = soft.clone();
        *stiffer::first_spring(&mut stiff).unwrap() = 1.01 * stiffness;
        let (before, after) = (read::solve(&soft), read::solve(&stiff));
        let (one, other) = (read::case(&before, build::CASE), read::case(&after, build::CASE));
        let expected = spring_force(&soft, one) * spring_force(&soft, other) * (1.0 / 1.01 - 1.0) / stiffness;
        let change = work(&soft, other) - work(&soft, one);
        // The change is a small difference of large works: so many digits are lost.
        let allowed = work(&soft, one) * same(before.equations.condition);
        assert!(change <= allowed, "{}: a stiffer spring lets the loads sink more", design.name);
        assert!((change - expected).abs() <= allowed, "{}: {change:e} instead of {expected:e}", design.name);
        tried += 1;
    }
    assert!(tried > 50, "{tried}");
}

/// A member of 1 % stiffer material: likewise, with its stress resultants along it (shear areas left out, so that only
/// axial force and moments feel the modulus of elasticity; torsion feels the shear modulus, which stays).
#[test]
fn a_stiffer_member_helps_by_what_its_forces_say() {
    for (_, design, mut chance) in frames(11) {
        let mut soft = with_point_loads(&design, &mut chance);
        let which = chance.below(soft.members.len());
        let mut own = soft.stock.iter().find(|stock| stock.name == soft.members[which].stock).unwrap().clone();
        own.name = "its own".into();
        soft.members[which].stock = own.name.clone();
        soft.stock.push(own);
        let (e, section) = figures(&soft);
        let mut stiff = soft.clone();
        scale_modulus(&mut stiff, 1.01);
        let (before, after) = (read::solve(&soft), read::solve(&stiff));
        let (one, other) = (read::case(&before, build::CASE), read::case(&after, build::CASE));
        let tag = &soft.members[which].tag;
        let (one_along, other_along) = (&read::along(one, tag).places, &read::along(other, tag).places);
        let mut expected = 0.0;
        for (ones, others) in one_along.windows(2).zip(other_along.windows(2)) {
            let reach = ones[1].at_mm - ones[0].at_mm;
            let (a0, a1) = (read::six(ones[0].forces_after), read::six(ones[1].forces_before));
            let (b0, b1) = (read::six(others[0].forces_after), read::six(others[1].forces_before));
            for (k, figure) in [(0, section.area_mm2), (4, section.iy_mm4), (5, section.iz_mm4)] {
                // Both run straight between places: the exact integral of their product.
                let product = 2.0 * a0[k] * b0[k] + a0[k] * b1[k] + a1[k] * b0[k] + 2.0 * a1[k] * b1[k];
                expected += reach / 6.0 * product * (1.0 / 1.01 - 1.0) / (e * figure);
            }
        }
        let change = work(&soft, other) - work(&soft, one);
        // The change is a small difference of large works: so many digits are lost.
        let allowed = work(&soft, one) * same(before.equations.condition);
        assert!(change <= allowed, "{}: a stiffer member lets the loads sink more", design.name);
        assert!((change - expected).abs() <= allowed, "{}: {change:e} instead of {expected:e}", design.name);
    }
}

/// A straight cantilever cut into ever more parts: the tip moves as far as before, to the last digits.
#[test]
fn refining_a_cantilever_changes_nothing() {
    let mut design = build::blank("cantilever");
    design.stock.push(build::stock("s", 11_000.0, 690.0, build::rectangle(45.0, 95.0)));
    design.members.push(build::member("M0", "s", [0.0; 3], [1500.0, 400.0, 300.0]));
    design.anchors.push(build::anchor("A0", "M0", 0.0, Hold::Rigid));
    let whole = length(&design.members[0]);
    design.loads.push(build::line_load(build::CASE, "M0", (0.0, [0.1, -0.2, -1.0]), (whole, [0.0, 0.3, -0.4])));
    design.loads.push(build::point_load(build::CASE, "M0", whole, [30.0, 20.0, -100.0], [1e4, -2e4, 5e3]));
    let tip = |design: &Design, tag: &str, at: f64| {
        read::place(read::case(&read::solve(design), build::CASE), tag, at).displacement
    };
    let once = tip(&design, "M0", whole);
    let mut parts = 1;
    let mut last = String::from("M0");
    let mut left = whole;
    while parts < 16 {
        let at = left / f64::from(17 - parts);
        design = alter::cut(&design, &last, at);
        last.push('x');
        left -= at;
        parts += 1;
    }
    // Tags grow with every cut; the longest is what a tag may be.
    let many = tip(&design, &last, left);
    for k in 0..6 {
        let size = norm(if k < 3 { [once[0], once[1], once[2]] } else { [once[3], once[4], once[5]] });
        assert!((many[k] - once[k]).abs() <= SAME * size, "{once:?} {many:?}");
    }
    assert!(norm(sub(design.members[15].to, [1500.0, 400.0, 300.0])) < 1e-9);
}

/// Same frame, same findings, to the last bit.
#[test]
fn the_same_frame_gives_the_same_findings() {
    for (_, design, _) in frames(12).take(20) {
        let text = |findings: &Findings| serde_json::to_string(findings).unwrap();
        assert_eq!(text(&read::solve(&design)), text(&read::solve(&design)), "{}", design.name);
    }
}

/// No place of a member has more or less than its extremes say, and the extremes are there where they are said to be.
#[test]
fn extremes_are_the_extremes() {
    for (_, design, mut chance) in frames(13).take(60) {
        let plain = read::solve(&design);
        let case = case_name(0);
        let extremes = read::case(&plain, &case);
        let mut finer = design.clone();
        for member in &design.members {
            let spots = (0..25).map(|_| chance.between(0.0, 1.0) * length(member));
            let told =
                read::along(extremes, &member.tag).extremes.iter().filter(|one| !one.quantity.starts_with("sag"));
            for at in spots.chain(told.flat_map(|one| [one.least_at_mm, one.greatest_at_mm])) {
                finer.loads.push(build::mark(&case, &member.tag, at));
            }
        }
        let sampled = read::solve(&finer);
        for (number, name) in ["n", "vy", "vz", "t", "my", "mz"].into_iter().enumerate() {
            for member in &design.members {
                let (least, greatest) = read::extreme(extremes, &member.tag, name);
                let places = &read::along(read::case(&sampled, &case), &member.tag).places;
                let last = places.len() - 1;
                let values: Vec<f64> = (places.iter().enumerate())
                    .flat_map(|(index, place)| {
                        let before = (index > 0).then(|| read::six(place.forces_before)[number]);
                        let after = (index < last).then(|| read::six(place.forces_after)[number]);
                        [before, after]
                    })
                    .flatten()
                    .collect();
                let found = values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(*v), b.max(*v)));
                // Forces and moments that are nothing but rounding are no extremes.
                let close = 1e-7 * (least.abs().max(greatest.abs()) + if number < 3 { 1e-3 } else { 1.0 });
                let at = format!("{} {} {name}: {found:?}, said {least} to {greatest}", design.name, member.tag);
                assert!((found.0 - least).abs() <= close && (found.1 - greatest).abs() <= close, "{at}");
            }
        }
    }
}

/// A frame's own weight, by density and size, stands on its anchors; so does a mass fixed to it (g = 9.80665 m/s2).
#[test]
fn weight_stands_on_the_anchors() {
    for (_, mut design, mut chance) in frames(14).take(30) {
        design.loads.clear();
        let mut mass = 0.0;
        for stock in &mut design.stock {
            let Material::Given { density_kg_m3, .. } = &mut stock.material else { panic!("given figures only") };
            *density_kg_m3 = chance.between(300.0, 8000.0);
            let (density, Section::Given(section)) = (*density_kg_m3, &stock.section) else {
                panic!("given figures only")
            };
            let of_it = design.members.iter().filter(|member| member.stock == stock.name);
            mass += of_it.map(|member| length(member) * section.area_mm2 * density * 1e-9).sum::<f64>();
        }
        let pump = chance.between(1.0, 20.0);
        let what = LoadKind::Mass { member: design.members[0].tag.clone(), at_mm: 100.0, mass_kg: pump };
        design.loads.push(Load { case: "pump".into(), action: Action::Permanent, what });
        let state = read::total(&read::solve(&design));
        let sum = state.reactions.iter().fold([0.0; 3], |sum, one| add(sum, one.force_n));
        let expected = (mass + pump) * 9.80665;
        let size = state.reactions.iter().map(|one| norm(one.force_n)).fold(expected, f64::max);
        assert!((sum[2] - expected).abs() <= SAME * size, "{}: {} kg give {sum:?}", design.name, mass + pump);
        assert!(sum[0].abs() + sum[1].abs() <= SAME * size, "{}: {sum:?}", design.name);
    }
}

/// Holds that meet within no length share a force in a way that nothing decides; all else must not depend on them.
#[test]
fn doubled_holds_change_no_displacement() {
    for (_, design, mut chance) in frames(15) {
        let mut doubled = design.clone();
        let foot = doubled.anchors[0].clone();
        doubled.anchors.push(Anchor { tag: Some("again".into()), ..foot });
        // Springs would add up; this is about rigid grips.
        if !matches!(design.anchors[0].hold, Hold::Rigid) {
            continue;
        }
        let (one, other) = (read::solve(&design), read::solve(&alter::shuffled(&doubled, &mut chance)));
        for case in cases(&design) {
            let (mut one, mut other) = (read::case(&one, &case).clone(), read::case(&other, &case).clone());
            for state in [&mut one, &mut other] {
                let feet = state.reactions.iter().filter(|one| one.tag == "A0" || one.tag == "again");
                let both =
                    feet.fold(([0.0; 3], [0.0; 3]), |(f, m), one| (add(f, one.force_n), add(m, one.moment_n_mm)));
                state.reactions.retain(|one| one.tag != "again");
                let foot = state.reactions.iter_mut().find(|one| one.tag == "A0").unwrap();
                (foot.force_n, foot.moment_n_mm) = both;
            }
            let worst = Difference::of(&other, &one).worst();
            assert!(worst <= SAME, "{} {case}: {worst:e}", design.name);
        }
    }
}

/// Findings follow the stiffness: a rail of 1 % stiffer timber sags 1 % less, as its sag checks say, and
/// by as much as elementary theory says.
#[test]
fn sag_checks_follow_the_stiffness() {
    let sag = |e: f64| {
        let mut design = build::blank("rail");
        let mut stock = build::stock("s", e, e / 16.0, build::rectangle(45.0, 95.0));
        stock.section = Section::Rectangle { width_mm: 45.0, depth_mm: 95.0 };
        design.stock.push(stock);
        design.members.push(build::member("R1", "s", [0.0; 3], [1800.0, 0.0, 0.0]));
        let held = build::free_in(&[4]);
        design.anchors.push(build::anchor("A0", "R1", 0.0, held));
        design.anchors.push(build::anchor("A1", "R1", 1800.0, build::free_in(&[0, 4])));
        design.loads.push(build::line_load(build::CASE, "R1", (0.0, [0.0, 0.0, -0.8]), (1800.0, [0.0, 0.0, -0.8])));
        let findings = read::solve(&design);
        let found = findings.checks.iter().filter(|check| check.kind == CheckKind::SagInstant);
        found.map(|check| (check.demand, check.utilisation)).next().expect("a sag check")
    };
    let (soft, stiff) = (sag(9_000.0), sag(9_090.0));
    assert!((stiff.0 * 1.01 - soft.0).abs() <= SAME * soft.0, "{soft:?} {stiff:?}");
    assert!((stiff.1 * 1.01 - soft.1).abs() <= SAME * soft.1, "{soft:?} {stiff:?}");
    // 5wL4/384EI + wL2/8GA, A 5/6 of the section (elementary theory).
    let (w, l, e) = (0.8, 1800.0_f64, 9_000.0);
    let expected = 5.0 * w * l.powi(4) / (384.0 * e * 45.0 * 95.0_f64.powi(3) / 12.0)
        + w * l * l / (8.0 * e / 16.0 * 45.0 * 95.0 * 5.0 / 6.0);
    assert!((soft.0 - expected).abs() <= 1e-6 * expected, "{soft:?} {expected}");
}
