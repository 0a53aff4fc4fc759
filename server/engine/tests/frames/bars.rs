//! One bar of the second solver: the loads within it, and the give of its end as a cantilever, integrated numerically.

use crate::dense::Dense;
use crate::vectors::{add, axes, cross, into, length, out_of, point, scale};
use battenboard_engine::design::{Axes, Design, GivenSection, LoadKind, Material, Member, Section, Vector};

/// A load of one case on one member, in the member's local axes.
pub enum LocalLoad {
    Point { at: f64, force: Vector, moment: Vector },
    Line { from: f64, to: f64, start: Vector, end: Vector },
}

/// Share of a member's length under which two places are one.
pub const NEAR: f64 = 1e-9;

const GAUSS: [(f64, f64); 5] = [
    (0.0, 0.568_888_888_888_888_9),
    (0.538_469_310_105_683_1, 0.478_628_670_499_366_47),
    (-0.538_469_310_105_683_1, 0.478_628_670_499_366_47),
    (0.906_179_845_938_664, 0.236_926_885_056_189_08),
    (-0.906_179_845_938_664, 0.236_926_885_056_189_08),
];

fn figures(design: &Design, member: &Member) -> (f64, f64, GivenSection) {
    let stock = design.stock.iter().find(|stock| stock.name == member.stock).expect("known stock");
    match (&stock.material, &stock.section) {
        (Material::Given { e_n_mm2, g_n_mm2, .. }, Section::Given(section)) => (*e_n_mm2, *g_n_mm2, section.clone()),
        _ => panic!("the second solver takes given figures only"),
    }
}

/// Reciprocals of EA, GAsy, GAsz, GJ, EIy, EIz; zero where a bar does not give.
pub fn yielding(design: &Design, member: &Member) -> [f64; 6] {
    let (e, g, section) = figures(design, member);
    let shear = |area: Option<f64>| area.map_or(0.0, |area| 1.0 / (g * area));
    [
        1.0 / (e * section.area_mm2),
        shear(section.shear_area_y_mm2),
        shear(section.shear_area_z_mm2),
        1.0 / (g * section.j_mm4),
        1.0 / (e * section.iy_mm4),
        1.0 / (e * section.iz_mm4),
    ]
}

pub fn number(design: &Design, tag: &str) -> usize {
    design.members.iter().position(|member| member.tag == tag).expect("known member")
}

pub fn local_loads(design: &Design, case: &str) -> Vec<Vec<LocalLoad>> {
    let mut all: Vec<Vec<LocalLoad>> = design.members.iter().map(|_| Vec::new()).collect();
    for load in design.loads.iter().filter(|load| load.case == case) {
        match &load.what {
            LoadKind::Point { member, at_mm, force_n, moment_n_mm, axes: measured } => {
                let which = number(design, member);
                let turn =
                    |v: Vector| if *measured == Axes::Member { v } else { into(axes(&design.members[which]), v) };
                all[which].push(LocalLoad::Point { at: *at_mm, force: turn(*force_n), moment: turn(*moment_n_mm) });
            }
            LoadKind::Line { member, from_mm, to_mm, start_n_mm, end_n_mm, axes: measured } => {
                let which = number(design, member);
                let turn =
                    |v: Vector| if *measured == Axes::Member { v } else { into(axes(&design.members[which]), v) };
                all[which].push(LocalLoad::Line {
                    from: *from_mm,
                    to: *to_mm,
                    start: turn(*start_n_mm),
                    end: turn(*end_n_mm),
                });
            }
            _ => panic!("the second solver takes point and line loads only"),
        }
    }
    all
}

/// Force and moment about `about` of the loads between `from` and `to`, local axes; of point loads those farther than
/// `near` inside, and those at `from` where it is `closed`.
pub fn resultant(loads: &[LocalLoad], (from, closed): (f64, bool), to: f64, about: f64, near: f64) -> [f64; 6] {
    let mut sum = [0.0; 6];
    for load in loads {
        let (begins, ends, start, end) = match load {
            LocalLoad::Line { from, to, start, end } => (from, to, start, end),
            LocalLoad::Point { at, force, moment } => {
                let first = if closed { from - near } else { from + near };
                if *at > first && *at < to - near {
                    let moment = add(*moment, cross([at - about, 0.0, 0.0], *force));
                    for direction in 0..3 {
                        sum[direction] += force[direction];
                        sum[direction + 3] += moment[direction];
                    }
                }
                continue;
            }
        };
        let (low, high) = (from.max(*begins), to.min(*ends));
        if high <= low {
            continue;
        }
        for (place, weight) in GAUSS {
            let at = 0.5 * (low + high) + 0.5 * (high - low) * place;
            let share = (at - begins) / (ends - begins);
            let value = add(scale(*start, 1.0 - share), scale(*end, share));
            let weight = 0.5 * (high - low) * weight;
            let moment = cross([at - about, 0.0, 0.0], value);
            for direction in 0..3 {
                sum[direction] += weight * value[direction];
                sum[direction + 3] += weight * moment[direction];
            }
        }
    }
    sum
}

/// Force and moment on a section at `distance` before the point where `q` acts, local axes.
pub fn carried(q: [f64; 6], distance: f64) -> [f64; 6] {
    let moment = cross([distance, 0.0, 0.0], [q[0], q[1], q[2]]);
    [q[0], q[1], q[2], q[3] + moment[0], q[4] + moment[1], q[5] + moment[2]]
}

/// Movement of a bar's end relative to its start for forces `q` at the end and the loads between them.
pub fn give(soft: [f64; 6], loads: &[LocalLoad], q: [f64; 6], from: f64, to: f64, near: f64) -> [f64; 6] {
    let mut breaks = vec![from, to];
    for load in loads {
        let places = match load {
            LocalLoad::Line { from, to, .. } => vec![*from, *to],
            LocalLoad::Point { at, .. } => vec![*at],
        };
        breaks.extend(places.into_iter().filter(|at| *at > from && *at < to));
    }
    breaks.sort_by(f64::total_cmp);
    let mut sum = [0.0; 6];
    for pair in breaks.windows(2) {
        for (place, weight) in GAUSS {
            let at = 0.5 * (pair[0] + pair[1]) + 0.5 * (pair[1] - pair[0]) * place;
            let weight = 0.5 * (pair[1] - pair[0]) * weight;
            let mut strain = carried(q, to - at);
            let beyond = resultant(loads, (at, false), to, at, near);
            for direction in 0..6 {
                strain[direction] = (strain[direction] + beyond[direction]) * soft[direction] * weight;
            }
            // A strain at `at` moves the end as a rigid arm of the rest.
            let shift = cross([strain[3], strain[4], strain[5]], [to - at, 0.0, 0.0]);
            for direction in 0..3 {
                sum[direction] += strain[direction] + shift[direction];
                sum[direction + 3] += strain[direction + 3];
            }
        }
    }
    sum
}

/// Stiffness of a bar's end, its start held: the inverse of its flexibility.
pub fn end_stiffness(soft: [f64; 6], length: f64) -> [[f64; 6]; 6] {
    let mut flexibility = Dense::zero(6);
    for column in 0..6 {
        let mut q = [0.0; 6];
        q[column] = 1.0;
        for (row, value) in give(soft, &[], q, 0.0, length, 0.0).into_iter().enumerate() {
            flexibility.add(row, column, value);
        }
    }
    let units: Vec<Vec<f64>> = (0..6).map(|k| (0..6).map(|i| f64::from(u8::from(i == k))).collect()).collect();
    let columns = flexibility.solve(&units).expect("a bar gives");
    std::array::from_fn(|row| {
        std::array::from_fn(|column| 0.5 * (columns[column][row].high + columns[row][column].high))
    })
}

pub fn load_places(loads: &[LocalLoad]) -> Vec<f64> {
    let of = |load: &LocalLoad| match load {
        LocalLoad::Point { at, .. } => vec![*at],
        LocalLoad::Line { from, to, .. } => vec![*from, *to],
    };
    loads.iter().flat_map(of).collect()
}

/// Sum of a case's given loads: force, and moment about the origin, vehicle axes.
pub fn load_sum(design: &Design, case: &str) -> [f64; 6] {
    let mut sum = [0.0; 6];
    for (member, loads) in design.members.iter().zip(local_loads(design, case)) {
        let (local, whole) = (axes(member), length(member));
        let line = resultant(&loads, (0.0, false), whole, 0.0, whole);
        let mut wrenches = vec![(0.0, [line[0], line[1], line[2]], [line[3], line[4], line[5]])];
        for load in &loads {
            if let LocalLoad::Point { at, force, moment } = load {
                wrenches.push((*at, *force, *moment));
            }
        }
        for (at, force, moment) in wrenches {
            let force = out_of(local, force);
            let moment = add(out_of(local, moment), cross(point(member, at), force));
            for k in 0..3 {
                sum[k] += force[k];
                sum[k + 3] += moment[k];
            }
        }
    }
    sum
}
