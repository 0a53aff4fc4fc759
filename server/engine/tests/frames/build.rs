//! Pieces of a [`Design`] with everything that statics does not ask for left out: weightless members, sections given
//! by their figures, loads in named cases.

use battenboard_engine::design::{
    Action, Anchor, Axes, Design, GivenSection, Grading, Grip, Hold, Joint, Load, LoadKind, Material, Member, Section,
    Stock, Vector,
};

/// Name of the load case of a frame that has only one.
pub const CASE: &str = "the load";

/// A design without members.
pub fn blank(name: &str) -> Design {
    let mut design = Design { name: name.to_lowercase(), title: format!("frame {name}"), ..Design::default() };
    design.vehicle.name = "none".into();
    design
}

/// A stock given by stiffness alone and weighing nothing.
pub fn stock(name: &str, e: f64, g: f64, section: GivenSection) -> Stock {
    Stock {
        name: name.into(),
        section: Section::Given(section),
        material: Material::Given { e_n_mm2: e, g_n_mm2: g, density_kg_m3: 0.0 },
        grading: Grading::Measured,
        lengths_mm: Vec::new(),
        price_per_m: None,
        resawn: false,
    }
}

/// Section figures without shear flexibility and without an outline.
pub fn section(area: f64, iy: f64, iz: f64, j: f64) -> GivenSection {
    GivenSection { area_mm2: area, iy_mm4: iy, iz_mm4: iz, j_mm4: j, ..GivenSection::default() }
}

/// A solid rectangle by its figures: `width` along local y, `depth` along local z, with shear areas 5/6 of the area.
pub fn rectangle(width: f64, depth: f64) -> GivenSection {
    let area = width * depth;
    let (long, short) = (width.max(depth), width.min(depth));
    let ratio = short / long;
    GivenSection {
        shear_area_y_mm2: Some(area * 5.0 / 6.0),
        shear_area_z_mm2: Some(area * 5.0 / 6.0),
        ..section(
            area,
            width * depth.powi(3) / 12.0,
            depth * width.powi(3) / 12.0,
            long * short.powi(3) * (1.0 / 3.0 - 0.21 * ratio * (1.0 - ratio.powi(4) / 12.0)),
        )
    }
}

/// A member with the usual direction of its depth.
pub fn member(tag: &str, stock: &str, from: Vector, to: Vector) -> Member {
    Member { tag: tag.into(), kind: "rail".into(), stock: stock.into(), from, to, ..Member::default() }
}

/// A joint at given places.
pub fn joint(tag: &str, (member, at): (&str, f64), (on, on_at): (&str, f64), hold: Hold, axes: Axes) -> Joint {
    Joint {
        tag: Some(tag.into()),
        member: member.into(),
        on: on.into(),
        at_mm: Some(at),
        on_at_mm: Some(on_at),
        hold,
        axes,
        contact_mm: None,
    }
}

/// An anchor in vehicle axes without settlement.
pub fn anchor(tag: &str, member: &str, at: f64, hold: Hold) -> Anchor {
    Anchor {
        tag: Some(tag.into()),
        member: member.into(),
        at_mm: at,
        to: "floor".into(),
        hold,
        axes: Axes::Vehicle,
        settlement: [0.0; 6],
        contact_mm: None,
    }
}

/// A hold that is rigid but for the directions named (0 to 5: x, y, z, turn x, turn y, turn z), which are free.
pub fn free_in(directions: &[usize]) -> Hold {
    let mut grips = [Grip::Rigid; 6];
    for &direction in directions {
        grips[direction] = Grip::Free;
    }
    Hold::Given(grips)
}

/// A force and moment at a place, vehicle axes. Permanent, so that several cases make one combination, not many.
pub fn point_load(case: &str, member: &str, at: f64, force: Vector, moment: Vector) -> Load {
    Load {
        case: case.into(),
        action: Action::Permanent,
        what: LoadKind::Point {
            member: member.into(),
            at_mm: at,
            force_n: force,
            moment_n_mm: moment,
            axes: Axes::Vehicle,
        },
    }
}

/// A line load, vehicle axes.
pub fn line_load(case: &str, member: &str, (from, start): (f64, Vector), (to, end): (f64, Vector)) -> Load {
    Load {
        case: case.into(),
        action: Action::Permanent,
        what: LoadKind::Line {
            member: member.into(),
            from_mm: from,
            to_mm: to,
            start_n_mm: start,
            end_n_mm: end,
            axes: Axes::Vehicle,
        },
    }
}

/// A load of no size: it makes a place in the results and nothing else.
pub fn mark(case: &str, member: &str, at: f64) -> Load {
    point_load(case, member, at, [0.0; 3], [0.0; 3])
}
