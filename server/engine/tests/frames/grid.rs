//! Storeys of a regular frame, every joint rigid: the frame of the measured floors of the stack.

use crate::build;
use battenboard_engine::design::{Axes, Design, Hold};

/// Two storeys of 4 by 3 nodes on 12 fixed feet, two braces: 60 members, 24 free nodes.
pub fn sixty_members() -> Design {
    let mut design = build::blank("sixty");
    design.stock.push(build::stock("s", 11_000.0, 690.0, build::rectangle(45.0, 95.0)));
    let node = |x: usize, y: usize, z: usize| [x as f64 * 700.0, y as f64 * 600.0, z as f64 * 500.0];
    let mut bars = Vec::new();
    for z in 0..3 {
        for y in 0..3 {
            for x in 0..4 {
                if z < 2 {
                    bars.push((node(x, y, z), node(x, y, z + 1)));
                }
                if z > 0 && x < 3 {
                    bars.push((node(x, y, z), node(x + 1, y, z)));
                }
                if z > 0 && y < 2 {
                    bars.push((node(x, y, z), node(x, y + 1, z)));
                }
            }
        }
    }
    bars.push((node(0, 0, 1), node(1, 0, 2)));
    bars.push((node(0, 2, 1), node(1, 2, 2)));
    // At each node the first member's end is the hub; every later one is joined to it.
    let mut hubs: Vec<([f64; 3], String, f64)> = Vec::new();
    for (number, (from, to)) in bars.into_iter().enumerate() {
        let member = build::member(&format!("M{number}"), "s", from, to);
        let reach = crate::vectors::length(&member);
        for (end, at) in [(from, 0.0), (to, reach)] {
            if let Some((_, hub, place)) = hubs.iter().find(|(known, ..)| *known == end) {
                let name = format!("J{}", design.joints.len());
                let joint = build::joint(&name, (&member.tag, at), (hub, *place), Hold::Rigid, Axes::Vehicle);
                design.joints.push(joint);
            } else {
                hubs.push((end, member.tag.clone(), at));
                if end[2] == 0.0 {
                    design.anchors.push(build::anchor(&format!("A{number}"), &member.tag, at, Hold::Rigid));
                }
            }
        }
        design.members.push(member);
    }
    design
}
