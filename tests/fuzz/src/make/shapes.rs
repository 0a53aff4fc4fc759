//! Members that hang together.

use super::Chance;
use super::parts;
use super::stuff;
use battenboard_engine::design::{Design, Hold, Joint, Member, Vector};

/// Width of the grid, mm.
const GRID: f64 = 150.0;
/// Directions in which members run, most of them along an axis.
const DIRECTIONS: [Vector; 8] = [
    [1.0, 0.0, 0.0],
    [0.0, 1.0, 0.0],
    [0.0, 0.0, 1.0],
    [0.0, -1.0, 0.0],
    [0.0, 0.0, -1.0],
    [1.0, 1.0, 0.0],
    [1.0, 0.0, 1.0],
    [1.0, -1.0, 1.0],
];

/// Members grown one from another, each joined where it begins; the first held by the vehicle.
pub fn tree(design: &mut Design, chance: &mut Chance<'_>) {
    let start = [1_500.0, 0.0, 0.0];
    let first = member(design, chance, start);
    let length = length(&first);
    design.members.push(first);
    parts::anchor(design, chance, 0, 0.0, length);
    for _ in 0..chance.below(8) {
        let on = chance.below(design.members.len());
        let share = chance.pick(&[1.0, 0.5, 0.0, 0.25, 0.75]);
        let place = along(&design.members[on], share);
        let new = member(design, chance, place);
        let joint = Joint {
            member: new.tag.clone(),
            on: design.members[on].tag.clone(),
            at_mm: chance.percent(50).then_some(0.0),
            hold: parts::hold(chance),
            ..Joint::default()
        };
        design.members.push(new);
        design.joints.push(joint);
    }
}

/// Two rails on posts or anchors, bearers across, a deck on the bearers with people and gear.
pub fn platform(design: &mut Design, chance: &mut Chance<'_>) {
    let long = chance.number(&[1_800.0, 900.0, 600.0]);
    let wide = chance.number(&[600.0, 1_200.0, 300.0]);
    let [rail, bearer, post] = std::array::from_fn(|_| stuff::stock_name(design, chance));
    for (side, y) in [("L", -0.5 * wide), ("R", 0.5 * wide)] {
        let tag = format!("R{side}");
        design.members.push(plain(&tag, "rail", &rail, [0.0, y, 400.0], [long, y, 400.0]));
        for (name, at) in [("front", 0.0), ("rear", long)] {
            if chance.percent(40) {
                let foot = format!("P{side}{name}");
                design.members.push(plain(&foot, "post", &post, [at, y, 0.0], [at, y, 400.0]));
                design.joints.push(joint(&tag, &foot, chance));
                parts::anchor(design, chance, design.members.len() - 1, 0.0, 400.0);
            } else {
                let rail = design.members.iter().position(|member| member.tag == tag).unwrap_or(0);
                parts::anchor(design, chance, rail, at, long);
            }
        }
    }
    let count = 2 + chance.below(4);
    let mut tags = Vec::new();
    for number in 0..count {
        let x = long * (0.05 + 0.9 * number as f64 / (count - 1) as f64);
        let tag = format!("B{}", number + 1);
        design.members.push(plain(&tag, "bearer", &bearer, [x, -0.5 * wide, 430.0], [x, 0.5 * wide, 430.0]));
        for rail in ["RL", "RR"] {
            design.joints.push(joint(&tag, rail, chance));
        }
        tags.push(tag);
    }
    stuff::deck(design, chance, tags, [0.5 * long, 0.0]);
}

fn joint(member: &str, on: &str, chance: &mut Chance<'_>) -> Joint {
    let hold = if chance.percent(30) { parts::hold(chance) } else { Hold::Seated };
    Joint { member: member.into(), on: on.into(), hold, contact_mm: parts::contact(chance), ..Joint::default() }
}

fn plain(tag: &str, kind: &str, stock: &str, from: Vector, to: Vector) -> Member {
    Member { tag: tag.into(), kind: kind.into(), stock: stock.into(), from, to, ..Member::default() }
}

fn member(design: &Design, chance: &mut Chance<'_>, from: Vector) -> Member {
    let direction = chance.pick(&DIRECTIONS);
    let reach = GRID * chance.number(&[4.0, 2.0, 6.0, 8.0, 12.0, 1.0]);
    let to = std::array::from_fn(|k| from[k] + reach * direction[k]);
    let tag = format!("M{}", design.members.len() + 1);
    let mut member = plain(&tag, "rail", &stuff::stock_name(design, chance), from, to);
    if chance.percent(15) {
        member.up = Some(chance.pick(&[[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.3], [-0.5, 0.7, 0.1]]));
        member.roll_deg = chance.number(&[0.0, 30.0, 90.0, -135.0]);
    }
    if chance.percent(15) {
        member.held_depth_mm = chance.maybe(50, &[300.0, 900.0, 2_000.0]);
        member.held_width_mm = chance.maybe(50, &[300.0, 900.0, 2_000.0]);
        member.sag_limit_mm = chance.maybe(50, &[3.0, 10.0, 0.5]);
    }
    let whole = length(&member);
    parts::cuts(&mut member, chance, whole);
    member
}

/// Length of a member's axis, mm.
pub fn length(member: &Member) -> f64 {
    (0..3).map(|k| (member.to[k] - member.from[k]).powi(2)).sum::<f64>().sqrt()
}

fn along(member: &Member, share: f64) -> Vector {
    std::array::from_fn(|k| member.from[k] + share * (member.to[k] - member.from[k]))
}
