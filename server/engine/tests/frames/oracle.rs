//! A second solver, different from the engine on purpose: every place of every member has its own six unknowns; bars
//! come from the flexibility of a cantilever, integrated numerically; joints and supports are kept by Lagrange
//! multipliers; everything is solved densely by Gauss elimination.
//!
//! It takes weightless members with given sections and given loads only, which is all that statics needs to be tried on.

use crate::dense::Dense;
use crate::vectors::{add, axes, cross, into, length, out_of, point, scale, sub};
use battenboard_engine::design::{Axes, Design, GivenSection, Grip, Hold, LoadKind, Material, Member, Section, Vector};
use battenboard_engine::findings::{MemberResults, PlaceResults, PointForces, SectionForces, StateResults};

/// A load of one case on one member, in the member's local axes.
enum LocalLoad {
    Point { at: f64, force: Vector, moment: Vector },
    Line { from: f64, to: f64, start: Vector, end: Vector },
}

/// A piece of a member between neighbouring places.
struct Bar {
    member: usize,
    /// Indices of its nodes.
    nodes: [usize; 2],
    from: f64,
    to: f64,
    /// Inverse of the flexibility of its end, local axes.
    stiffness: [[f64; 6]; 6],
}

/// A direction held by a joint or anchor: the row of its gap in the unknowns.
struct Row {
    /// (unknown, coefficient).
    terms: Vec<(usize, f64)>,
    grip: Grip,
    /// Unit direction, vehicle axes, and whether it is a turn.
    direction: Vector,
    turn: bool,
    settlement: f64,
}

struct Assembled {
    places: Vec<Vec<f64>>,
    /// Index of each member's first node.
    first: Vec<usize>,
    bars: Vec<Bar>,
    joints: Vec<Vec<Row>>,
    anchors: Vec<Vec<Row>>,
    /// Multiplier of each rigid row: joints' rows first, then anchors', in order.
    multipliers: usize,
    nodes: usize,
    /// Scales that make all unknowns alike in size.
    turn_scale: f64,
    force_scale: f64,
}

const GAUSS: [(f64, f64); 5] = [
    (0.0, 0.568_888_888_888_888_9),
    (0.538_469_310_105_683_1, 0.478_628_670_499_366_47),
    (-0.538_469_310_105_683_1, 0.478_628_670_499_366_47),
    (0.906_179_845_938_664, 0.236_926_885_056_189_08),
    (-0.906_179_845_938_664, 0.236_926_885_056_189_08),
];

/// Solves a design for the named load cases; with `settled` the anchors' movement is part of every case. The results
/// have the engine's form, without extremes.
pub fn solve(design: &Design, cases: &[&str], settled: bool) -> Vec<StateResults> {
    let assembled = Assembled::of(design);
    let matrix = assembled.matrix(design);
    let loads: Vec<Vec<Vec<LocalLoad>>> = cases.iter().map(|case| local_loads(design, case)).collect();
    let sides: Vec<Vec<f64>> = loads.iter().map(|loads| assembled.side(design, loads, settled)).collect();
    let solutions = matrix.solve(&sides).expect("a sound frame");
    let answer = |(case, (solution, loads)): (&&str, (&Vec<f64>, &Vec<Vec<LocalLoad>>))| StateResults {
        name: (*case).into(),
        ..assembled.answer(design, solution, loads, settled)
    };
    cases.iter().zip(solutions.iter().zip(&loads)).map(answer).collect()
}

fn figures(design: &Design, member: &Member) -> (f64, f64, GivenSection) {
    let stock = design.stock.iter().find(|stock| stock.name == member.stock).expect("known stock");
    match (&stock.material, &stock.section) {
        (Material::Given { e_n_mm2, g_n_mm2, .. }, Section::Given(section)) => (*e_n_mm2, *g_n_mm2, section.clone()),
        _ => panic!("the second solver takes given figures only"),
    }
}

/// Reciprocals of EA, GAsy, GAsz, GJ, EIy, EIz; zero where a bar does not give.
fn yielding(design: &Design, member: &Member) -> [f64; 6] {
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

fn number(design: &Design, tag: &str) -> usize {
    design.members.iter().position(|member| member.tag == tag).expect("known member")
}

fn local_loads(design: &Design, case: &str) -> Vec<Vec<LocalLoad>> {
    let mut all: Vec<Vec<LocalLoad>> = design.members.iter().map(|_| Vec::new()).collect();
    for load in design.loads.iter().filter(|load| load.case == case) {
        match &load.what {
            LoadKind::Point { member, at_mm, force_n, moment_n_mm, axes: measured } => {
                let which = number(design, member);
                let turn = |v: Vector| if *measured == Axes::Member { v } else { into(axes(&design.members[which]), v) };
                all[which].push(LocalLoad::Point { at: *at_mm, force: turn(*force_n), moment: turn(*moment_n_mm) });
            }
            LoadKind::Line { member, from_mm, to_mm, start_n_mm, end_n_mm, axes: measured } => {
                let which = number(design, member);
                let turn = |v: Vector| if *measured == Axes::Member { v } else { into(axes(&design.members[which]), v) };
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

/// Force and moment about `about` of the line loads between `from` and `to`, local axes.
fn resultant(loads: &[LocalLoad], from: f64, to: f64, about: f64) -> [f64; 6] {
    let mut sum = [0.0; 6];
    for load in loads {
        let LocalLoad::Line { from: begins, to: ends, start, end } = load else { continue };
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
fn carried(q: [f64; 6], distance: f64) -> [f64; 6] {
    let moment = cross([distance, 0.0, 0.0], [q[0], q[1], q[2]]);
    [q[0], q[1], q[2], q[3] + moment[0], q[4] + moment[1], q[5] + moment[2]]
}

/// Movement of a bar's end relative to its start for forces `q` at the end and the loads along it.
fn give(soft: [f64; 6], loads: &[LocalLoad], q: [f64; 6], from: f64, to: f64) -> [f64; 6] {
    let mut breaks = vec![from, to];
    for load in loads {
        if let LocalLoad::Line { from: begins, to: ends, .. } = load {
            breaks.extend([*begins, *ends].into_iter().filter(|at| *at > from && *at < to));
        }
    }
    breaks.sort_by(f64::total_cmp);
    let mut sum = [0.0; 6];
    for pair in breaks.windows(2) {
        for (place, weight) in GAUSS {
            let at = 0.5 * (pair[0] + pair[1]) + 0.5 * (pair[1] - pair[0]) * place;
            let weight = 0.5 * (pair[1] - pair[0]) * weight;
            let mut strain = carried(q, to - at);
            let beyond = resultant(loads, at, to, at);
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
fn end_stiffness(soft: [f64; 6], length: f64) -> [[f64; 6]; 6] {
    let mut flexibility = Dense::zero(6);
    for column in 0..6 {
        let mut q = [0.0; 6];
        q[column] = 1.0;
        for (row, value) in give(soft, &[], q, 0.0, length).into_iter().enumerate() {
            flexibility.add(row, column, value);
        }
    }
    let units: Vec<Vec<f64>> = (0..6).map(|k| (0..6).map(|i| f64::from(u8::from(i == k))).collect()).collect();
    let columns = flexibility.solve(&units).expect("a bar gives");
    std::array::from_fn(|row| std::array::from_fn(|column| 0.5 * (columns[column][row] + columns[row][column])))
}

impl Assembled {
    fn of(design: &Design) -> Self {
        let places = places(design);
        let mut first = Vec::new();
        let mut nodes = 0;
        for member in &places {
            first.push(nodes);
            nodes += member.len();
        }
        let mut bars = Vec::new();
        let (mut lengths, mut axial) = (0.0, 0.0);
        for (which, member) in design.members.iter().enumerate() {
            let soft = yielding(design, member);
            lengths += length(member) / design.members.len() as f64;
            axial += 1.0 / soft[0] / length(member) / design.members.len() as f64;
            for (index, pair) in places[which].windows(2).enumerate() {
                let start = first[which] + index;
                bars.push(Bar {
                    member: which,
                    nodes: [start, start + 1],
                    from: pair[0],
                    to: pair[1],
                    stiffness: end_stiffness(soft, pair[1] - pair[0]),
                });
            }
        }
        let mut made = Self {
            places,
            first,
            bars,
            joints: Vec::new(),
            anchors: Vec::new(),
            multipliers: 0,
            nodes,
            turn_scale: lengths,
            force_scale: axial,
        };
        made.joints = design.joints.iter().map(|joint| made.joint_rows(design, joint)).collect();
        made.anchors = design.anchors.iter().map(|anchor| made.anchor_rows(design, anchor)).collect();
        let rows = made.joints.iter().chain(&made.anchors).flatten();
        made.multipliers = rows.filter(|row| row.grip == Grip::Rigid).count();
        made
    }

    fn node(&self, member: usize, at: f64) -> usize {
        let nearest = |a: &(usize, &f64), b: &(usize, &f64)| (a.1 - at).abs().total_cmp(&(b.1 - at).abs());
        let found = self.places[member].iter().enumerate().min_by(nearest).expect("a member has places");
        self.first[member] + found.0
    }

    fn joint_rows(&self, design: &Design, joint: &battenboard_engine::design::Joint) -> Vec<Row> {
        let (member, on) = (number(design, &joint.member), number(design, &joint.on));
        let (at, on_at) = (joint.at_mm.expect("given place"), joint.on_at_mm.expect("given place"));
        let (carried, carrying) = (self.node(member, at), self.node(on, on_at));
        let arm = sub(point(&design.members[member], at), point(&design.members[on], on_at));
        rows(&design.members[member], joint.hold, joint.axes)
            .into_iter()
            .map(|(grip, direction, turn)| {
                let mut terms = unknowns(carried, direction, turn, 1.0);
                terms.extend(unknowns(carrying, direction, turn, -1.0));
                if !turn {
                    // The carrying side moves by its own turn times the arm: direction . (turn x arm).
                    terms.extend(unknowns(carrying, cross(arm, direction), true, -1.0));
                }
                Row { terms, grip, direction, turn, settlement: 0.0 }
            })
            .collect()
    }

    fn anchor_rows(&self, design: &Design, anchor: &battenboard_engine::design::Anchor) -> Vec<Row> {
        let member = number(design, &anchor.member);
        let node = self.node(member, anchor.at_mm);
        rows(&design.members[member], anchor.hold, anchor.axes)
            .into_iter()
            .enumerate()
            .map(|(number, (grip, direction, turn))| Row {
                terms: unknowns(node, direction, turn, 1.0),
                grip,
                direction,
                turn,
                settlement: anchor.settlement[number],
            })
            .collect()
    }

    /// Size of an unknown: a displacement, a turn, or a multiplier.
    fn scale_of(&self, unknown: usize) -> f64 {
        if unknown >= 6 * self.nodes {
            self.force_scale
        } else if unknown % 6 < 3 {
            1.0
        } else {
            1.0 / self.turn_scale
        }
    }

    fn put(&self, matrix: &mut Dense, row: usize, column: usize, value: f64) {
        matrix.add(row, column, value * self.scale_of(row) * self.scale_of(column) / self.force_scale);
    }

    /// Rows of the end's movement against the start's: 6 rows over the twelve movements of a bar's ends, vehicle axes.
    fn relative(design: &Design, bar: &Bar) -> [[f64; 12]; 6] {
        let local = axes(&design.members[bar.member]);
        let reach = bar.to - bar.from;
        std::array::from_fn(|row| {
            let mut terms = [0.0; 12];
            let direction = local[row % 3];
            for k in 0..3 {
                let offset = if row < 3 { 0 } else { 3 };
                terms[6 + offset + k] = direction[k];
                terms[offset + k] = -direction[k];
            }
            if row < 3 {
                let lever = cross(scale(local[0], reach), direction);
                for k in 0..3 {
                    terms[3 + k] = -lever[k];
                }
            }
            terms
        })
    }

    fn matrix(&self, design: &Design) -> Dense {
        let mut matrix = Dense::zero(6 * self.nodes + self.multipliers);
        for bar in &self.bars {
            let relative = Self::relative(design, bar);
            let place = |k: usize| 6 * bar.nodes[k / 6] + k % 6;
            for row in 0..12 {
                for column in 0..12 {
                    let mut sum = 0.0;
                    for a in 0..6 {
                        for b in 0..6 {
                            sum += relative[a][row] * bar.stiffness[a][b] * relative[b][column];
                        }
                    }
                    self.put(&mut matrix, place(row), place(column), sum);
                }
            }
        }
        let mut multiplier = 6 * self.nodes;
        for row in self.joints.iter().chain(&self.anchors).flatten() {
            match row.grip {
                Grip::Free => {}
                Grip::Spring(stiffness) => {
                    for (one, first) in &row.terms {
                        for (other, second) in &row.terms {
                            self.put(&mut matrix, *one, *other, stiffness * first * second);
                        }
                    }
                }
                Grip::Rigid => {
                    for (unknown, value) in &row.terms {
                        self.put(&mut matrix, multiplier, *unknown, -value);
                        self.put(&mut matrix, *unknown, multiplier, -value);
                    }
                    multiplier += 1;
                }
            }
        }
        matrix
    }

    fn side(&self, design: &Design, loads: &[Vec<LocalLoad>], settled: bool) -> Vec<f64> {
        let mut side = vec![0.0; 6 * self.nodes + self.multipliers];
        for (member, loads) in loads.iter().enumerate() {
            let local = axes(&design.members[member]);
            for load in loads {
                let LocalLoad::Point { at, force, moment } = load else { continue };
                let node = 6 * self.node(member, *at);
                let (force, moment) = (out_of(local, *force), out_of(local, *moment));
                for k in 0..3 {
                    side[node + k] += force[k];
                    side[node + 3 + k] += moment[k];
                }
            }
        }
        for bar in &self.bars {
            self.put_bar_loads(design, bar, &loads[bar.member], &mut side);
        }
        let mut multiplier = 6 * self.nodes;
        for row in self.joints.iter().chain(&self.anchors).flatten() {
            let settlement = if settled { row.settlement } else { 0.0 };
            match row.grip {
                Grip::Free => {}
                Grip::Spring(stiffness) => {
                    for (unknown, value) in &row.terms {
                        side[*unknown] += stiffness * settlement * value;
                    }
                }
                Grip::Rigid => {
                    side[multiplier] = -settlement;
                    multiplier += 1;
                }
            }
        }
        for (unknown, value) in side.iter_mut().enumerate() {
            *value *= self.scale_of(unknown) / self.force_scale;
        }
        side
    }

    /// A bar's line loads: their resultant at its start, and the forces that the give of its end calls up.
    fn put_bar_loads(&self, design: &Design, bar: &Bar, loads: &[LocalLoad], side: &mut [f64]) {
        let local = axes(&design.members[bar.member]);
        let whole = resultant(loads, bar.from, bar.to, bar.from);
        let free = give(yielding(design, &design.members[bar.member]), loads, [0.0; 6], bar.from, bar.to);
        let (force, moment) =
            (out_of(local, [whole[0], whole[1], whole[2]]), out_of(local, [whole[3], whole[4], whole[5]]));
        for k in 0..3 {
            side[6 * bar.nodes[0] + k] += force[k];
            side[6 * bar.nodes[0] + 3 + k] += moment[k];
        }
        let relative = Self::relative(design, bar);
        for k in 0..12 {
            let mut sum = 0.0;
            for a in 0..6 {
                for b in 0..6 {
                    sum += relative[a][k] * bar.stiffness[a][b] * free[b];
                }
            }
            side[6 * bar.nodes[k / 6] + k % 6] += sum;
        }
    }

    fn answer(&self, design: &Design, solution: &[f64], loads: &[Vec<LocalLoad>], settled: bool) -> StateResults {
        let values: Vec<f64> =
            solution.iter().enumerate().map(|(unknown, value)| value * self.scale_of(unknown)).collect();
        let mut members = self.displaced(design, &values);
        for bar in &self.bars {
            let q = self.end_forces(design, bar, &loads[bar.member], &values);
            let start = bar.nodes[0] - self.first[bar.member];
            let along = &mut members[bar.member].places;
            along[start + 1].forces_before = resultants(q);
            let beyond = resultant(&loads[bar.member], bar.from, bar.to, bar.from);
            let moved = carried(q, bar.to - bar.from);
            along[start].forces_after = resultants(std::array::from_fn(|k| moved[k] + beyond[k]));
        }
        let mut multiplier = 6 * self.nodes;
        let mut pulls = |sets: &[Vec<Row>], tags: Vec<Option<String>>| -> Vec<PointForces> {
            let named = sets.iter().zip(tags);
            named.map(|(rows, tag)| pull(tag.unwrap_or_default(), rows, &values, &mut multiplier, settled)).collect()
        };
        let joints = pulls(&self.joints, design.joints.iter().map(|joint| joint.tag.clone()).collect());
        let reactions = pulls(&self.anchors, design.anchors.iter().map(|anchor| anchor.tag.clone()).collect());
        StateResults { name: String::new(), combined: false, members, reactions, joints }
    }

    fn displaced(&self, design: &Design, values: &[f64]) -> Vec<MemberResults> {
        let member = |(member, (places, first)): (&Member, (&Vec<f64>, &usize))| {
            let of = |(index, at): (usize, &f64)| PlaceResults {
                at_mm: *at,
                displacement: std::array::from_fn(|k| values[6 * (first + index) + k]),
                ..PlaceResults::default()
            };
            let places = places.iter().enumerate().map(of).collect();
            MemberResults { tag: member.tag.clone(), places, extremes: Vec::new() }
        };
        design.members.iter().zip(self.places.iter().zip(&self.first)).map(member).collect()
    }

    fn end_forces(&self, design: &Design, bar: &Bar, loads: &[LocalLoad], values: &[f64]) -> [f64; 6] {
        let relative = Self::relative(design, bar);
        let mut stretch = give(yielding(design, &design.members[bar.member]), loads, [0.0; 6], bar.from, bar.to);
        for (row, stretch) in relative.iter().zip(&mut stretch) {
            let moved: f64 =
                row.iter().enumerate().map(|(k, term)| term * values[6 * bar.nodes[k / 6] + k % 6]).sum();
            *stretch = moved - *stretch;
        }
        std::array::from_fn(|a| (0..6).map(|b| bar.stiffness[a][b] * stretch[b]).sum())
    }
}

/// Force and moment that the rows of one joint or anchor put on the carried side, vehicle axes.
fn pull(tag: String, rows: &[Row], values: &[f64], multiplier: &mut usize, settled: bool) -> PointForces {
    let mut sum = [0.0; 6];
    for row in rows {
        let size = match row.grip {
            Grip::Free => 0.0,
            Grip::Spring(stiffness) => {
                let gap: f64 = row.terms.iter().map(|(unknown, value)| value * values[*unknown]).sum();
                -stiffness * (gap - if settled { row.settlement } else { 0.0 })
            }
            Grip::Rigid => {
                *multiplier += 1;
                values[*multiplier - 1]
            }
        };
        for k in 0..3 {
            sum[k + if row.turn { 3 } else { 0 }] += size * row.direction[k];
        }
    }
    PointForces { tag, force_n: [sum[0], sum[1], sum[2]], moment_n_mm: [sum[3], sum[4], sum[5]] }
}

fn resultants([n_n, vy_n, vz_n, t_n_mm, my_n_mm, mz_n_mm]: [f64; 6]) -> SectionForces {
    SectionForces { n_n, vy_n, vz_n, t_n_mm, my_n_mm, mz_n_mm }
}

/// The six directions of a hold: grip, unit direction in vehicle axes, whether it is a turn.
fn rows(carried: &Member, hold: Hold, measured: Axes) -> Vec<(Grip, Vector, bool)> {
    let local = axes(carried);
    let vehicle = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
    let (grips, frame) = match hold {
        Hold::Rigid => ([Grip::Rigid; 6], vehicle),
        Hold::Pinned => ([Grip::Rigid, Grip::Rigid, Grip::Rigid, Grip::Free, Grip::Free, Grip::Free], vehicle),
        // The three directions and the roll about the carried member's own length.
        Hold::Seated => ([Grip::Rigid, Grip::Rigid, Grip::Rigid, Grip::Rigid, Grip::Free, Grip::Free], local),
        Hold::Given(grips) => (grips, if measured == Axes::Member { local } else { vehicle }),
    };
    (0..6).map(|k| (grips[k], frame[k % 3], k >= 3)).collect()
}

fn unknowns(node: usize, direction: Vector, turn: bool, factor: f64) -> Vec<(usize, f64)> {
    (0..3).map(|k| (6 * node + k + if turn { 3 } else { 0 }, factor * direction[k])).collect()
}

/// Places of each member: its ends, joints, anchors, point loads and ends of line loads.
fn places(design: &Design) -> Vec<Vec<f64>> {
    let mut all: Vec<Vec<f64>> = design.members.iter().map(|member| vec![0.0, length(member)]).collect();
    for joint in &design.joints {
        all[number(design, &joint.member)].extend(joint.at_mm);
        all[number(design, &joint.on)].extend(joint.on_at_mm);
    }
    for anchor in &design.anchors {
        all[number(design, &anchor.member)].push(anchor.at_mm);
    }
    for load in &design.loads {
        match &load.what {
            LoadKind::Point { member, at_mm, .. } => all[number(design, member)].push(*at_mm),
            LoadKind::Line { member, from_mm, to_mm, .. } => all[number(design, member)].extend([*from_mm, *to_mm]),
            _ => {}
        }
    }
    for (places, member) in all.iter_mut().zip(&design.members) {
        places.sort_by(f64::total_cmp);
        let near = 1e-9 * length(member);
        places.dedup_by(|later, earlier| *later - *earlier < near);
    }
    all
}

/// Sum of a case's given loads: force, and moment about the origin, vehicle axes.
pub fn load_sum(design: &Design, case: &str) -> [f64; 6] {
    let mut sum = [0.0; 6];
    for (member, loads) in design.members.iter().zip(local_loads(design, case)) {
        let (local, whole) = (axes(member), length(member));
        let line = resultant(&loads, 0.0, whole, 0.0);
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
