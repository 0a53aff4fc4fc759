//! A second solver, different from the engine on purpose: every end, joint and anchor of every member has its own six
//! unknowns; bars come from the flexibility of a cantilever under the loads within it; joints and supports are kept by
//! Lagrange multipliers; everything is solved densely by Gauss elimination.
//!
//! It takes weightless members with given sections and given loads only, which is all that statics needs to be tried on.

use crate::bars::{
    LocalLoad, NEAR, carried, end_stiffness, give, load_places, local_loads, number, resultant, yielding,
};
use crate::dense::{Dense, Twofold};
use crate::vectors::{add, axes, cross, into, length, out_of, point, scale, sub};
use battenboard_engine::design::{Axes, Design, Grip, Hold, Member, Vector};
use battenboard_engine::findings::{MemberResults, PlaceResults, PointForces, SectionForces, StateResults};

/// A piece of a member between neighbouring places.
struct Bar {
    member: usize,
    /// Indices of its nodes.
    nodes: [usize; 2],
    from: f64,
    to: f64,
    /// Distance under which two places are one.
    near: f64,
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

/// Solves a design for the named load cases; with `settled` the anchors' movement is part of every case. The results
/// have the engine's form, without extremes.
pub fn solve(design: &Design, cases: &[&str], settled: bool) -> Vec<StateResults> {
    let assembled = Assembled::of(design);
    let matrix = assembled.matrix(design);
    let loads: Vec<Vec<Vec<LocalLoad>>> = cases.iter().map(|case| local_loads(design, case)).collect();
    let sides: Vec<Vec<f64>> = loads.iter().map(|loads| assembled.side(design, loads, settled)).collect();
    let solutions = matrix.solve(&sides).expect("a sound frame");
    let answer = |(case, (solution, loads)): (&&str, (&Vec<Twofold>, &Vec<Vec<LocalLoad>>))| StateResults {
        name: (*case).into(),
        ..assembled.answer(design, solution, loads, settled)
    };
    cases.iter().zip(solutions.iter().zip(&loads)).map(answer).collect()
}

/// The nearest power of two below: scaling by it is exact.
fn power_of_two(value: f64) -> f64 {
    value.log2().floor().exp2()
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
                    near: NEAR * length(member),
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
            turn_scale: power_of_two(lengths),
            force_scale: power_of_two(axial),
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
        let mut settlement = anchor.settlement;
        if anchor.hold == Hold::Seated && anchor.axes == Axes::Vehicle {
            // Its grips lie along the member whatever axes the movement is said in.
            let [x, y, z, ..] = anchor.settlement;
            settlement[..3].copy_from_slice(&into(axes(&design.members[member]), [x, y, z]));
        }
        rows(&design.members[member], anchor.hold, anchor.axes)
            .into_iter()
            .enumerate()
            .map(|(number, (grip, direction, turn))| Row {
                terms: unknowns(node, direction, turn, 1.0),
                grip,
                direction,
                turn,
                settlement: settlement[number],
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
                let there = self.places[member][node / 6 - self.first[member]];
                if (there - at).abs() > NEAR * length(&design.members[member]) {
                    // Within a bar, which sees to it.
                    continue;
                }
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

    /// The loads within a bar: their resultant at its start, and the forces that the give of its end calls up.
    fn put_bar_loads(&self, design: &Design, bar: &Bar, loads: &[LocalLoad], side: &mut [f64]) {
        let local = axes(&design.members[bar.member]);
        let whole = resultant(loads, (bar.from, false), bar.to, bar.from, bar.near);
        let soft = yielding(design, &design.members[bar.member]);
        let free = give(soft, loads, [0.0; 6], bar.from, bar.to, bar.near);
        let (force, moment) =
            (out_of(local, [whole[0], whole[1], whole[2]]), out_of(local, [whole[3], whole[4], whole[5]]));
        for k in 0..3 {
            side[6 * bar.nodes[0] + k] += force[k];
            side[6 * bar.nodes[0] + 3 + k] += moment[k];
        }
        let relative = Self::relative(design, bar);
        for (row, stiffness) in relative.iter().zip(&bar.stiffness) {
            let called: f64 = stiffness.iter().zip(&free).map(|(stiffness, give)| stiffness * give).sum();
            for (k, term) in row.iter().enumerate() {
                side[6 * bar.nodes[k / 6] + k % 6] += term * called;
            }
        }
    }

    fn answer(&self, design: &Design, solution: &[Twofold], loads: &[Vec<LocalLoad>], settled: bool) -> StateResults {
        let scaled = solution.iter().enumerate().map(|(unknown, value)| value.times(self.scale_of(unknown)));
        let values: Vec<Twofold> = scaled.collect();
        let mut members = self.displaced(design, &values);
        for bar in &self.bars {
            let q = self.end_forces(design, bar, &loads[bar.member], &values);
            let start = bar.nodes[0] - self.first[bar.member];
            let along = &mut members[bar.member].places;
            along[start + 1].forces_before = resultants(q);
            let (_, after) = section(bar, &loads[bar.member], q, bar.from);
            along[start].forces_after = resultants(after);
        }
        for bar in &self.bars {
            let q = self.end_forces(design, bar, &loads[bar.member], &values);
            let places = &mut members[bar.member].places;
            for at in load_places(&loads[bar.member]) {
                if at > bar.from + bar.near && at < bar.to - bar.near && !places.iter().any(|p| near(p, at, bar.near)) {
                    places.push(self.inner(design, bar, &loads[bar.member], &values, (q, at)));
                }
            }
        }
        for member in &mut members {
            member.places.sort_by(|a, b| a.at_mm.total_cmp(&b.at_mm));
        }
        let mut multiplier = 6 * self.nodes;
        let mut pulls = |sets: &[Vec<Row>], tags: Vec<Option<String>>| -> Vec<PointForces> {
            let named = sets.iter().zip(tags);
            named.map(|(rows, tag)| pull(tag.unwrap_or_default(), rows, &values, &mut multiplier, settled)).collect()
        };
        let joints = pulls(&self.joints, design.joints.iter().map(|joint| joint.tag.clone()).collect());
        let reactions = pulls(&self.anchors, design.anchors.iter().map(|anchor| anchor.tag.clone()).collect());
        StateResults { name: String::new(), members, reactions, joints, ..StateResults::default() }
    }

    fn displaced(&self, design: &Design, values: &[Twofold]) -> Vec<MemberResults> {
        let member = |(member, (places, first)): (&Member, (&Vec<f64>, &usize))| {
            let of = |(index, at): (usize, &f64)| PlaceResults {
                at_mm: *at,
                displacement: std::array::from_fn(|k| values[6 * (first + index) + k].rounded()),
                ..PlaceResults::default()
            };
            let places = places.iter().enumerate().map(of).collect();
            MemberResults { tag: member.tag.clone(), places, extremes: Vec::new() }
        };
        design.members.iter().zip(self.places.iter().zip(&self.first)).map(member).collect()
    }

    /// A place within a bar: from the bar's start as a rigid arm, and the give of the piece between.
    fn inner(
        &self,
        design: &Design,
        bar: &Bar,
        loads: &[LocalLoad],
        values: &[Twofold],
        (q, at): ([f64; 6], f64),
    ) -> PlaceResults {
        let member = &design.members[bar.member];
        let local = axes(member);
        let (before, after) = section(bar, loads, q, at);
        let piece = give(yielding(design, member), loads, before, bar.from, at, bar.near);
        let start =
            |offset: usize| -> Vector { std::array::from_fn(|k| values[6 * bar.nodes[0] + offset + k].rounded()) };
        let (slide, turn) = (start(0), start(3));
        let arm = cross(turn, scale(local[0], at - bar.from));
        let slide = add(add(slide, arm), out_of(local, [piece[0], piece[1], piece[2]]));
        let turn = add(turn, out_of(local, [piece[3], piece[4], piece[5]]));
        PlaceResults {
            at_mm: at,
            displacement: [slide[0], slide[1], slide[2], turn[0], turn[1], turn[2]],
            forces_before: resultants(before),
            forces_after: resultants(after),
        }
    }

    fn end_forces(&self, design: &Design, bar: &Bar, loads: &[LocalLoad], values: &[Twofold]) -> [f64; 6] {
        let relative = Self::relative(design, bar);
        let soft = yielding(design, &design.members[bar.member]);
        let mut stretch = give(soft, loads, [0.0; 6], bar.from, bar.to, bar.near);
        for (row, stretch) in relative.iter().zip(&mut stretch) {
            let terms = row.iter().enumerate().map(|(k, term)| (*term, values[6 * bar.nodes[k / 6] + k % 6]));
            *stretch = Twofold::sum(-*stretch, terms).rounded();
        }
        std::array::from_fn(|a| (0..6).map(|b| bar.stiffness[a][b] * stretch[b]).sum())
    }
}

/// Forces on the sections just before and just after a place of a bar whose end carries `q`.
fn section(bar: &Bar, loads: &[LocalLoad], q: [f64; 6], at: f64) -> ([f64; 6], [f64; 6]) {
    let moved = carried(q, bar.to - at);
    let with = |closed: bool| {
        let beyond = resultant(loads, (at, closed), bar.to, at, bar.near);
        std::array::from_fn(|k| moved[k] + beyond[k])
    };
    (with(true), with(false))
}

fn near(place: &PlaceResults, at: f64, reach: f64) -> bool {
    (place.at_mm - at).abs() <= reach
}

/// Force and moment that the rows of one joint or anchor put on the carried side, vehicle axes.
fn pull(tag: String, rows: &[Row], values: &[Twofold], multiplier: &mut usize, settled: bool) -> PointForces {
    let mut sum = [0.0; 6];
    for row in rows {
        let size = match row.grip {
            Grip::Free => 0.0,
            Grip::Spring(stiffness) => {
                let terms = row.terms.iter().map(|(unknown, value)| (*value, values[*unknown]));
                -stiffness * Twofold::sum(if settled { -row.settlement } else { 0.0 }, terms).rounded()
            }
            Grip::Rigid => {
                *multiplier += 1;
                values[*multiplier - 1].rounded()
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
    let stated = if measured == Axes::Member { local } else { vehicle };
    let (grips, frame) = match hold {
        Hold::Rigid => ([Grip::Rigid; 6], stated),
        Hold::Pinned => ([Grip::Rigid, Grip::Rigid, Grip::Rigid, Grip::Free, Grip::Free, Grip::Free], stated),
        // The three directions and the roll about the carried member's own length.
        Hold::Seated => ([Grip::Rigid, Grip::Rigid, Grip::Rigid, Grip::Rigid, Grip::Free, Grip::Free], local),
        Hold::Given(grips) => (grips, stated),
    };
    (0..6).map(|k| (grips[k], frame[k % 3], k >= 3)).collect()
}

fn unknowns(node: usize, direction: Vector, turn: bool, factor: f64) -> Vec<(usize, f64)> {
    (0..3).map(|k| (6 * node + k + if turn { 3 } else { 0 }, factor * direction[k])).collect()
}

/// Places of each member that need unknowns: its ends, joints and anchors.
fn places(design: &Design) -> Vec<Vec<f64>> {
    let mut all: Vec<Vec<f64>> = design.members.iter().map(|member| vec![0.0, length(member)]).collect();
    for joint in &design.joints {
        all[number(design, &joint.member)].extend(joint.at_mm);
        all[number(design, &joint.on)].extend(joint.on_at_mm);
    }
    for anchor in &design.anchors {
        all[number(design, &anchor.member)].push(anchor.at_mm);
    }
    for (places, member) in all.iter_mut().zip(&design.members) {
        places.sort_by(f64::total_cmp);
        let near = NEAR * length(member);
        places.dedup_by(|later, earlier| *later - *earlier < near);
    }
    all
}
