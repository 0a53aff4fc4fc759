//! Sleeping platforms in a row: posts, two rails, bearers across; rigid heads, so that nothing racks.

use crate::build;
use crate::chance::Chance;
use battenboard_engine::design::{Axes, Design, Hold};

/// Sizes of a row of platforms.
#[derive(Clone, Copy, Debug)]
pub struct Sizes {
    /// Fields between posts along the row.
    pub fields: usize,
    /// Length of a field, width and height, mm.
    pub field_mm: f64,
    pub width_mm: f64,
    pub height_mm: f64,
    /// Bearers in each field.
    pub bearers: usize,
}

/// A row of chance sizes with a few loads.
pub fn row(fields: usize, chance: &mut Chance) -> Design {
    let sizes = Sizes {
        fields,
        field_mm: chance.between(500.0, 1200.0),
        width_mm: chance.between(600.0, 1400.0),
        height_mm: chance.between(250.0, 900.0),
        bearers: 1 + chance.below(3),
    };
    let mut design = of(sizes);
    for number in 0..3 {
        let case = format!("case {number}");
        let tag = format!("B{}-{}", chance.below(fields), chance.below(sizes.bearers));
        let load = build::point_load(&case, &tag, 0.4 * sizes.width_mm, [20.0, -10.0, -500.0], [0.0; 3]);
        design.loads.push(load);
    }
    design
}

/// Number of members of a row.
pub fn count(sizes: Sizes) -> usize {
    2 * (sizes.fields + 1) + 2 * sizes.fields + sizes.bearers * sizes.fields
}

/// A row without loads. Posts `PL0`, `PR0` ..., rails in one piece a field `RL0`, `RR0` ..., bearers `B0-0` ...
pub fn of(sizes: Sizes) -> Design {
    let Sizes { fields, field_mm, width_mm, height_mm, bearers } = sizes;
    let mut design = build::blank("platforms");
    design.stock.push(build::stock("45x45", 9_000.0, 560.0, build::rectangle(45.0, 45.0)));
    design.stock.push(build::stock("45x70", 9_000.0, 560.0, build::rectangle(45.0, 70.0)));
    for (side, y) in [("L", 0.0), ("R", width_mm)] {
        for number in 0..=fields {
            let (tag, x) = (format!("P{side}{number}"), number as f64 * field_mm);
            design.members.push(build::member(&tag, "45x45", [x, y, 0.0], [x, y, height_mm]));
            design.anchors.push(build::anchor(&format!("{tag}/floor"), &tag, 0.0, Hold::Pinned));
        }
        for number in 0..fields {
            let (tag, x) = (format!("R{side}{number}"), number as f64 * field_mm);
            let (from, to) = ([x, y, height_mm], [x + field_mm, y, height_mm]);
            design.members.push(build::member(&tag, "45x70", from, to));
            // The post at the rail's start is carried by it; the rail before ends on the same post.
            let post = format!("P{side}{number}");
            head(&mut design, (&post, height_mm), (&tag, 0.0));
            if number + 1 == fields {
                head(&mut design, (&format!("P{side}{fields}"), height_mm), (&tag, field_mm));
            } else {
                let next = format!("R{side}{}", number + 1);
                let name = format!("{next}/{tag}");
                design.joints.push(build::joint(&name, (&tag, field_mm), (&next, 0.0), Hold::Rigid, Axes::Vehicle));
            }
        }
    }
    for field in 0..fields {
        for number in 0..bearers {
            let tag = format!("B{field}-{number}");
            let along = (number as f64 + 0.5) * field_mm / bearers as f64;
            let x = field as f64 * field_mm + along;
            design.members.push(build::member(&tag, "45x70", [x, 0.0, height_mm], [x, width_mm, height_mm]));
            for (side, at) in [("L", 0.0), ("R", width_mm)] {
                let rail = format!("R{side}{field}");
                let name = format!("{rail}/{tag}");
                // Rigid corners: the bearers carry the sway across the row.
                design.joints.push(build::joint(&name, (&tag, at), (&rail, along), Hold::Rigid, Axes::Vehicle));
            }
        }
    }
    design
}

fn head(design: &mut Design, (post, height): (&str, f64), (rail, at): (&str, f64)) {
    let name = format!("{rail}/{post}");
    design.joints.push(build::joint(&name, (post, height), (rail, at), Hold::Rigid, Axes::Vehicle));
}
