//! One part of a frame made stiffer: which part, the forces in it, and the work of the loads.

use crate::chance::Chance;
use crate::vectors::{axes, dot, length};
use crate::{build, read};
use battenboard_engine::design::{Axes, Design, GivenSection, Grip, Hold, Load, LoadKind, Material, Section};
use battenboard_engine::findings::StateResults;

/// The first spring of a design, among joints and then anchors.
pub fn first_spring(design: &mut Design) -> Option<&mut f64> {
    let joints = design.joints.iter_mut().map(|joint| &mut joint.hold);
    let holds = joints.chain(design.anchors.iter_mut().map(|anchor| &mut anchor.hold));
    let grips = holds.filter_map(|hold| if let Hold::Given(grips) = hold { Some(grips) } else { None }).flatten();
    let mut springs = grips.filter_map(|grip| if let Grip::Spring(stiffness) = grip { Some(stiffness) } else { None });
    springs.next()
}

/// Work of a case's point loads on the movement of a state.
pub fn work(design: &Design, state: &StateResults) -> f64 {
    let one = |load: &Load| match &load.what {
        LoadKind::Point { member, at_mm, force_n, moment_n_mm, .. } => {
            let [x, y, z, a, b, c] = read::place(state, member, *at_mm).displacement;
            dot(*force_n, [x, y, z]) + dot(*moment_n_mm, [a, b, c])
        }
        _ => panic!("point loads only"),
    };
    design.loads.iter().map(one).sum()
}

/// One case of point loads in vehicle axes.
pub fn with_point_loads(design: &Design, chance: &mut Chance) -> Design {
    let mut design = design.clone();
    design.loads.clear();
    for _ in 0..3 {
        let member = &design.members[chance.below(design.members.len())];
        let (tag, at) = (member.tag.clone(), chance.between(0.1, 1.0) * length(member));
        let load = build::point_load(build::CASE, &tag, at, chance.vector(300.0), chance.vector(1e5));
        design.loads.push(load);
    }
    design
}

/// Force in the spring that [`first_spring`] finds.
pub fn spring_force(design: &Design, state: &StateResults) -> f64 {
    let vehicle = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
    let joints = design.joints.iter().map(|j| (&j.hold, j.axes, &j.member, j.tag.as_deref().unwrap(), true));
    let anchors = design.anchors.iter().map(|a| (&a.hold, a.axes, &a.member, a.tag.as_deref().unwrap(), false));
    for (hold, measured, member, tag, of_joint) in joints.chain(anchors) {
        let Hold::Given(grips) = hold else { continue };
        let Some(which) = grips.iter().position(|grip| matches!(grip, Grip::Spring(_))) else { continue };
        let member = design.members.iter().find(|known| known.tag == *member).unwrap();
        let rows = if measured == Axes::Member { axes(member) } else { vehicle };
        let [x, y, z, a, b, c] = if of_joint { read::joint(state, tag) } else { read::reaction(state, tag) };
        return dot(rows[which % 3], if which < 3 { [x, y, z] } else { [a, b, c] });
    }
    panic!("no spring")
}

/// Modulus and section of the stock put last.
pub fn figures(design: &Design) -> (f64, GivenSection) {
    let stock = design.stock.last().unwrap();
    match (&stock.material, &stock.section) {
        (Material::Given { e_n_mm2, .. }, Section::Given(section)) => (*e_n_mm2, section.clone()),
        _ => panic!("given figures only"),
    }
}

pub fn scale_modulus(design: &mut Design, factor: f64) {
    if let Material::Given { e_n_mm2, .. } = &mut design.stock.last_mut().unwrap().material {
        *e_n_mm2 *= factor;
    }
}
