//! The demo designs written otherwise: members, joints and stock in another order, members turned end for end, the whole
//! seen in a mirror. Columns, stability, the road and all checks must come out the same to 1e-9.

use battenboard_engine::design::{Design, Frame, Heading, LoadKind, Vector};
use battenboard_engine::findings::{CheckKind, Findings};
use battenboard_engine::{Ask, check};
use std::collections::BTreeMap;

/// Share of a figure that may change.
const SAME: f64 = 1e-9;

fn designs() -> [Design; 3] {
    ["curlew", "dunlin", "avocet"].map(|name| {
        let path = format!("{}/designs/{name}.toml", env!("CARGO_MANIFEST_DIR"));
        let mut design = battenboard_designfile::read(&std::fs::read_to_string(path).unwrap()).unwrap().design;
        // Tags of their own: those that are made up say where on a member.
        for (number, anchor) in design.anchors.iter_mut().enumerate() {
            anchor.tag = Some(format!("K{number}"));
        }
        design
    })
}

fn findings(design: &Design) -> Findings {
    let frame = Frame::new(design).unwrap_or_else(|violations| panic!("{violations:#?}"));
    check(&frame, Ask::default(), &|| false).unwrap()
}

/// Figures by what they are of.
fn figures(findings: &Findings) -> BTreeMap<String, f64> {
    let mut figures = BTreeMap::new();
    for check in &findings.checks {
        // A stretch of a member has a check of lateral buckling; the worst is kept.
        let key = format!("{} {:?}", check.tag, check.kind);
        let most: &mut f64 = figures.entry(key).or_insert(0.0);
        *most = most.max(check.utilisation);
        if check.kind == CheckKind::Column {
            for factor in check.factors.iter().filter(|factor| factor.name.starts_with("l_ef")) {
                figures.insert(format!("{} {}", check.tag, factor.name), factor.value);
            }
        }
    }
    for line in &findings.stability.lines {
        figures.insert(format!("buckling under {}", line.combination), line.buckling_factor.unwrap_or(0.0));
    }
    for held in &findings.hold_downs {
        figures.insert(format!("hold down {}", held.anchor), held.force_n);
    }
    figures.insert("frequency".into(), findings.stability.frequency_hz.unwrap_or(0.0));
    for (axis, stiffness) in findings.stability.sway_stiffness_n_mm.into_iter().flatten().enumerate() {
        figures.insert(format!("sway stiffness {axis}"), stiffness);
    }
    figures
}

fn expect_same(design: &Design, other: &Design, what: &str) {
    let (one, two) = (figures(&findings(design)), figures(&findings(other)));
    assert!(one.len() > 50, "{}: {} figures", design.name, one.len());
    assert_eq!(one.keys().collect::<Vec<_>>(), two.keys().collect::<Vec<_>>(), "{}, {what}", design.name);
    for (key, one) in &one {
        let two = two[key];
        assert!((one - two).abs() <= SAME * one.abs().max(1e-3), "{}, {what}: {key}: {one} and {two}", design.name);
    }
}

/// Every list upside down, and its even entries before its odd ones.
fn reorder<T: Clone>(list: &mut Vec<T>) {
    let (even, odd): (Vec<_>, Vec<_>) = list.iter().rev().cloned().enumerate().partition(|(index, _)| index % 2 == 0);
    *list = even.into_iter().chain(odd).map(|(_, item)| item).collect();
}

#[test]
fn another_order_changes_no_finding() {
    for design in designs() {
        let mut other = design.clone();
        reorder(&mut other.members);
        reorder(&mut other.joints);
        reorder(&mut other.anchors);
        reorder(&mut other.stock);
        reorder(&mut other.decks);
        expect_same(&design, &other, "another order");
    }
}

fn length(from: Vector, to: Vector) -> f64 {
    (0..3).map(|i| (to[i] - from[i]).powi(2)).sum::<f64>().sqrt()
}

#[test]
fn members_turned_end_for_end_change_no_finding() {
    for design in designs() {
        let mut other = design.clone();
        let length_of: BTreeMap<String, f64> =
            design.members.iter().map(|member| (member.tag.clone(), length(member.from, member.to))).collect();
        for member in &mut other.members {
            assert!(member.notches.is_empty() && member.holes.is_empty(), "turn the cuts too");
            std::mem::swap(&mut member.from, &mut member.to);
        }
        for joint in &mut other.joints {
            joint.at_mm = joint.at_mm.map(|at| length_of[&joint.member] - at);
            joint.on_at_mm = joint.on_at_mm.map(|at| length_of[&joint.on] - at);
        }
        for anchor in &mut other.anchors {
            anchor.at_mm = length_of[&anchor.member] - anchor.at_mm;
        }
        for load in &mut other.loads {
            match &mut load.what {
                LoadKind::Mass { member, at_mm, .. } | LoadKind::Point { member, at_mm, .. } => {
                    *at_mm = length_of[member] - *at_mm;
                }
                LoadKind::Line { .. } => panic!("turn the line load too"),
                LoadKind::Area { .. } => {}
            }
        }
        expect_same(&design, &other, "end for end");
    }
}

/// Left is right: the road's motions come from both sides, and the section of every member is even.
#[test]
fn a_mirror_changes_no_finding() {
    for design in designs() {
        let mut other = design.clone();
        let turn = |point: &mut Vector| point[1] = -point[1];
        for member in &mut other.members {
            turn(&mut member.from);
            turn(&mut member.to);
            member.up.iter_mut().for_each(turn);
            member.roll_deg = -member.roll_deg;
        }
        for deck in &mut other.decks {
            if let (Some(from), Some(to)) = (&mut deck.from_mm, &mut deck.to_mm) {
                (from[1], to[1]) = (-to[1], -from[1]);
            }
        }
        for entry in &mut other.people {
            entry.at_mm.iter_mut().for_each(|at| at[1] = -at[1]);
            entry.heads = match entry.heads {
                Heading::Left => Heading::Right,
                Heading::Right => Heading::Left,
                along => along,
            };
        }
        other.stowage.iter_mut().for_each(|box_of| turn(&mut box_of.at));
        for anchor in &other.anchors {
            assert!(anchor.settlement.iter().all(|moved| *moved == 0.0), "turn the settlement too");
        }
        for load in &other.loads {
            assert!(!matches!(load.what, LoadKind::Point { .. } | LoadKind::Line { .. }), "turn the loads too");
        }
        expect_same(&design, &other, "in a mirror");
    }
}
