#![allow(clippy::unwrap_used, clippy::panic, reason = "a failed test may panic")]

use super::*;
use crate::design::{
    Action, Anchor, Axes, Design, Frame, Grading, Grip, Hold, Load, LoadKind, Material, Member, Section, Stock,
};
use crate::statics::analyse;
use crate::statics::solve::{anchor_force, parts};

/// A level beam over three anchors, the middle one springy, the last one held along axes of the leaning member that
/// stands under it; loads everywhere.
fn design() -> Design {
    let stock = Stock {
        name: "45x70".into(),
        section: Section::Rectangle { width_mm: 45.0, depth_mm: 70.0 },
        material: Material::Class("C24".into()),
        grading: Grading::Stamped,
        lengths_mm: Vec::new(),
        price_per_m: None,
        resawn: false,
    };
    let member = |tag: &str, from, to| Member {
        tag: tag.into(),
        kind: "rail".into(),
        stock: "45x70".into(),
        from,
        to,
        ..Member::default()
    };
    let anchor = |member: &str, at_mm, hold, axes| Anchor {
        member: member.into(),
        at_mm,
        to: format!("floor at {at_mm}"),
        hold,
        axes,
        ..Anchor::default()
    };
    let mut spring = [Grip::Free; 6];
    spring[2] = Grip::Spring(300.0);
    let load = |member: &str, at_mm, force_n| Load {
        case: "load".into(),
        action: Action::Permanent,
        what: LoadKind::Point {
            member: member.into(),
            at_mm,
            force_n,
            moment_n_mm: [2e4, 5e4, 0.0],
            axes: Axes::Vehicle,
        },
    };
    Design {
        name: "influence".into(),
        title: "Influence".into(),
        stock: vec![stock],
        members: vec![
            member("R1", [2_000.0, 0.0, 500.0], [4_000.0, 0.0, 500.0]),
            member("P1", [3_700.0, 300.0, 0.0], [3_700.0, 0.0, 500.0]),
        ],
        joints: vec![crate::design::Joint {
            member: "R1".into(),
            on: "P1".into(),
            at_mm: Some(1_700.0),
            on_at_mm: Some(340_000.0_f64.sqrt()),
            hold: Hold::Rigid,
            ..Default::default()
        }],
        anchors: vec![
            anchor("R1", 0.0, Hold::Pinned, Axes::Vehicle),
            anchor("R1", 900.0, Hold::Given(spring), Axes::Vehicle),
            anchor("P1", 0.0, Hold::Pinned, Axes::Member),
        ],
        loads: vec![
            load("R1", 500.0, [10.0, 40.0, -900.0]),
            load("R1", 1_950.0, [0.0, 0.0, -300.0]),
            load("P1", 200.0, [50.0, -70.0, 0.0]),
        ],
        ..Design::default()
    }
}

/// Müller-Breslau: the parts of every load case, each by its work on the anchor's unit movement, add up to the anchor's
/// upward force from the solved case, for rigid, springy and leaning holds.
#[test]
fn parts_add_up_to_the_solved_reaction() {
    let frame = Frame::new(&design()).unwrap_or_else(|v| panic!("{v:?}"));
    let analysis = analyse(&frame, &|| false).unwrap();
    assert!(analysis.faults.is_empty(), "{:?}", analysis.faults);
    let parts = parts(&frame);
    let anchors: Vec<(usize, usize)> = (0..3).map(|a| (a, parts[frame.anchors[a].member])).collect();
    let groups = groups(&anchors, parts.len());
    assert_eq!(groups.len(), 3, "one part: each anchor moves alone");
    let all = moved(&analysis, &groups, &|| false).unwrap();
    for (group, moved) in groups.iter().zip(all) {
        for (case, solved) in analysis.cases.iter().zip(&analysis.solved) {
            let of_member = |m: usize| by_bar(&analysis, m, case.on(m)).into_iter().map(|(_, bar)| moved.force(&bar));
            let sum: f64 = (0..frame.members.len()).flat_map(of_member).sum();
            let (force, _) = anchor_force(&frame, &analysis.system.mesh, solved, group[0].0);
            let size = solved.u.len() as f64;
            assert!((sum - force[2]).abs() <= 1e-9 * force[2].abs().max(size), "{}: {sum} {force:?}", case.name);
        }
    }
    assert!(moved(&analysis, &groups, &|| true).is_err());
}

#[test]
fn one_movement_serves_a_group() {
    let anchors = [(0, 0), (1, 0), (2, 3), (3, 0), (4, 3)];
    assert_eq!(groups(&anchors, 4), [vec![(0, 0), (2, 3)], vec![(1, 0), (4, 3)], vec![(3, 0)]]);
}

/// Equilibrium: the nodal loads of a member's bars pull together as much as its loads do, along every axis.
#[test]
fn bars_take_the_whole_of_a_load() {
    let frame = Frame::new(&design()).unwrap_or_else(|v| panic!("{v:?}"));
    let analysis = analyse(&frame, &|| false).unwrap();
    for member in 0..frame.members.len() {
        let case = analysis.cases.iter().find(|case| case.name == "load").unwrap();
        let bars = by_bar(&analysis, member, case.on(member));
        let mut whole = [0.0; 3];
        for (_, load) in case.on(member) {
            let force = crate::design::vector::to_vehicle(&frame.members[member].axes, load.force());
            (0..3).for_each(|k| whole[k] += force[k]);
        }
        for (axis, whole) in whole.iter().enumerate() {
            let sum: f64 = bars.iter().map(|(_, bar)| bar.sum(axis)).sum();
            assert!((sum - whole).abs() < 1e-9, "member {member}, axis {axis}: {sum} against {whole}");
        }
    }
}

/// Only a grip along an axis that is not level carries weight: not one along a level axis, not one against turning.
#[test]
fn what_holds_down() {
    let frame = Frame::new(&design()).unwrap_or_else(|v| panic!("{v:?}"));
    assert!(frame.anchors.iter().all(holds_down), "pinned, springy upwards, pinned along leaning axes");
    let mut anchor = frame.anchors[0].clone();
    anchor.grips = [Grip::Free; 6];
    assert!(!holds_down(&anchor));
    (0..2).for_each(|level| anchor.grips[level] = Grip::Rigid);
    (3..6).for_each(|turn| anchor.grips[turn] = Grip::Rigid);
    assert!(!holds_down(&anchor));
    anchor.grips[2] = Grip::Spring(1.0);
    assert!(holds_down(&anchor));
}
