//! Forces and displacements along one member from the displacements of its places: exact, piece by piece.
//!
//! On the +x face: N' = -q_x, V' = -q, T' = 0, M_y' = V_z, M_z' = -V_y between loads; theta_y' = M_y / E I_y,
//! theta_z' = M_z / E I_z, u_z' = V_z / G A_sz - theta_y, u_y' = V_y / G A_sy + theta_z.

use super::assemble::{end_forces, to_local};
use super::element::{Bar, Twelve};
use super::line::{Piece, value};
use super::load::{LoadCase, MemberLoad};
use super::mesh::{Element, Mesh};
use crate::design::Frame;

/// Places closer than this share of the member's length are one.
pub(super) const HAIR: f64 = 1e-7;

/// Where a member is cut for its results: places, loads' places and loads' ends of all cases.
#[derive(Clone, Debug, Default)]
pub struct Cuts {
    /// Places in order, ends included.
    pub at_mm: Vec<f64>,
    /// For each piece: index (within the member) of the bar it lies in.
    pub bar: Vec<usize>,
}

/// One member in one load case.
#[derive(Clone, Debug, Default)]
pub struct MemberState {
    /// Its pieces, in order.
    pub pieces: Vec<Piece>,
    /// Displacements and turns (local axes) at each cut.
    pub displacements: Vec<[f64; 6]>,
}

impl MemberState {
    /// Clears the state to zeros for `cuts`.
    pub fn reset(&mut self, cuts: &Cuts) {
        self.pieces.clear();
        self.pieces.extend(cuts.at_mm.windows(2).map(|w| Piece { from_mm: w[0], to_mm: w[1], ..Piece::default() }));
        self.displacements.clear();
        self.displacements.resize(cuts.at_mm.len(), [0.0; 6]);
    }

    /// Adds another state times a factor.
    pub fn add(&mut self, other: &Self, factor: f64) {
        for (piece, more) in self.pieces.iter_mut().zip(&other.pieces) {
            piece.add(more, factor);
        }
        for (sum, more) in self.displacements.iter_mut().zip(&other.displacements) {
            for (a, b) in sum.iter_mut().zip(more) {
                *a += factor * b;
            }
        }
    }
}

impl Piece {
    /// Adds the stress resultants of another piece over the same stretch times a factor, displacements left alone.
    pub fn add_forces(&mut self, other: &Self, factor: f64) {
        let add = |a: &mut [f64], b: &[f64]| a.iter_mut().zip(b).for_each(|(x, y)| *x += factor * y);
        add(&mut self.n, &other.n);
        add(&mut self.vy, &other.vy);
        add(&mut self.vz, &other.vz);
        add(&mut self.t, &other.t);
        add(&mut self.my, &other.my);
        add(&mut self.mz, &other.mz);
    }

    /// Adds another piece over the same stretch times a factor.
    pub fn add(&mut self, other: &Self, factor: f64) {
        self.add_forces(other, factor);
        let add = |a: &mut [f64], b: &[f64]| a.iter_mut().zip(b).for_each(|(x, y)| *x += factor * y);
        add(&mut self.uy, &other.uy);
        add(&mut self.uz, &other.uz);
    }
}

/// Cuts of a member over all cases.
pub fn cuts(mesh: &Mesh, cases: &[LoadCase], member: usize) -> Cuts {
    let (first, last) = mesh.spans[member];
    let places = &mesh.places[first..last];
    let mut at_mm: Vec<f64> = places.iter().map(|p| p.at_mm).collect();
    for case in cases {
        for (_, load) in case.on(member) {
            match load {
                MemberLoad::Point { at, .. } => at_mm.push(*at),
                MemberLoad::Line { from, to, .. } => at_mm.extend([*from, *to]),
            }
        }
    }
    at_mm.sort_by(f64::total_cmp);
    let length = places.last().map_or(0.0, |p| p.at_mm);
    let near = HAIR * length;
    let mut kept: Vec<f64> = Vec::with_capacity(at_mm.len());
    for at in at_mm {
        // A place of the mesh takes the cuts a hair beside it.
        let at = places.iter().map(|p| p.at_mm).find(|p| (p - at).abs() <= near).unwrap_or(at);
        if kept.last().is_none_or(|l| at - l > near) {
            kept.push(at);
        }
    }
    let bar =
        kept.windows(2).map(|w| places.partition_point(|p| p.at_mm <= 0.5 * (w[0] + w[1])).saturating_sub(1)).collect();
    Cuts { at_mm: kept, bar }
}

/// Forces of a bar at its start and its displacements there, from the solution.
#[derive(Clone, Copy)]
pub(super) struct Start {
    /// N, Vy, Vz, T, My, Mz on the +x face.
    pub(super) forces: [f64; 6],
    /// Local displacements and turns.
    pub(super) moves: [f64; 6],
}

/// Recovers one member in one case.
pub fn member(
    frame: &Frame,
    mesh: &Mesh,
    case: &LoadCase,
    u: &[f64],
    member: usize,
    cuts: &Cuts,
    state: &mut MemberState,
) {
    state.reset(cuts);
    let (first, last) = mesh.spans[member];
    if last - first < 2 {
        return;
    }
    let loads = case.on(member);
    let first_element = mesh.elements.partition_point(|e| e.start < first);
    let mut at_start = Start { forces: [0.0; 6], moves: [0.0; 6] };
    let mut bar_before = usize::MAX;
    for (index, bar_index) in cuts.bar.iter().enumerate() {
        let element = &mesh.elements[first_element + bar_index];
        if *bar_index != bar_before {
            at_start = start_of(frame, mesh, element, u, loads);
            bar_before = *bar_index;
        }
        let near = HAIR * mesh.places[last - 1].at_mm;
        jump(&mut at_start, loads, cuts.at_mm[index], near);
        state.displacements[index] = at_start.moves;
        let piece = &mut state.pieces[index];
        let line = line_load(loads, piece.from_mm, piece.to_mm);
        at_start = integrate(piece, &element.bar, at_start, line);
    }
    if let Some(end) = state.displacements.last_mut() {
        let raw = 6 * (last - 1);
        let mut both = [0.0; 12];
        both[..6].copy_from_slice(&u[raw..raw + 6]);
        end.copy_from_slice(&to_local(&frame.members[member].axes, &both)[..6]);
    }
}

/// Which loads of a member.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// All.
    All,
    /// Only those along a line.
    Lines,
}

/// Nodal loads equivalent to a member's loads within one of its bars, local axes.
pub fn equivalent(mesh: &Mesh, element: &Element, loads: &[(usize, MemberLoad)]) -> Twelve {
    equivalent_of(mesh, element, loads, Part::All)
}

/// The same for some of the loads.
pub fn equivalent_of(mesh: &Mesh, element: &Element, loads: &[(usize, MemberLoad)], part: Part) -> Twelve {
    let bar = &element.bar;
    let (from, to) = (mesh.places[element.start].at_mm, mesh.places[element.start + 1].at_mm);
    let end = mesh.spans[element.member].1;
    let is_last = end == element.start + 2;
    let near = HAIR * mesh.places[end - 1].at_mm;
    let mut sum = [0.0; 12];
    for (_, load) in loads {
        match load {
            MemberLoad::Point { at, force, moment } if part != Part::Lines => {
                // A load at a place belongs to the bar that starts there, at the member's end to the last.
                if *at >= from - near && (*at < to - near || is_last) {
                    bar.add_point(&mut sum, at - from, *force, *moment);
                }
            }
            MemberLoad::Line { from: a, to: b, start, end } => {
                let (low, high) = (a.max(from), b.min(to));
                if high > low {
                    let at = |x: f64| [0, 1, 2].map(|i| start[i] + (end[i] - start[i]) * (x - a) / (b - a));
                    bar.add_line(&mut sum, low - from, high - from, at(low), at(high));
                }
            }
            MemberLoad::Point { .. } => {}
        }
    }
    sum
}

fn start_of(frame: &Frame, mesh: &Mesh, element: &Element, u: &[f64], loads: &[(usize, MemberLoad)]) -> Start {
    let raw = 6 * element.start;
    let axes = &frame.members[element.member].axes;
    let stiff = end_forces(element, axes, &u[raw..raw + 12]);
    let fixed = equivalent(mesh, element, loads);
    let mut vehicle = [0.0; 12];
    vehicle.copy_from_slice(&u[raw..raw + 12]);
    let local = to_local(axes, &vehicle);
    let mut start = Start { forces: [0.0; 6], moves: [0.0; 6] };
    for i in 0..6 {
        // What the place gives to the bar's start face, turned to the face whose normal is +x.
        start.forces[i] = fixed[i] - stiff[i];
        start.moves[i] = local[i];
    }
    start
}

/// Point loads at a place change the forces behind it.
pub(super) fn jump(state: &mut Start, loads: &[(usize, MemberLoad)], at: f64, near: f64) {
    for (_, load) in loads {
        if let MemberLoad::Point { at: place, force, moment } = load
            && (place - at).abs() <= near
        {
            for i in 0..3 {
                state.forces[i] -= force[i];
                state.forces[3 + i] -= moment[i];
            }
        }
    }
}

/// Sum of the line loads over a piece: value at its start and slope, per local axis.
pub(super) fn line_load(loads: &[(usize, MemberLoad)], from: f64, to: f64) -> [[f64; 2]; 3] {
    let middle = 0.5 * (from + to);
    let mut sum = [[0.0; 2]; 3];
    for (_, load) in loads {
        if let MemberLoad::Line { from: a, to: b, start, end } = load
            && *a < middle
            && *b > middle
        {
            for i in 0..3 {
                let slope = (end[i] - start[i]) / (b - a);
                sum[i][0] += start[i] + slope * (from - a);
                sum[i][1] += slope;
            }
        }
    }
    sum
}

/// Fills a piece from its start and returns the state at its end.
pub(super) fn integrate(piece: &mut Piece, bar: &Bar, start: Start, line: [[f64; 2]; 3]) -> Start {
    let [n, vy, vz, t, my, mz] = start.forces;
    let [ux, uy, uz, rx, ry, rz] = start.moves;
    let shear = |force: f64, q: [f64; 2]| [force, -q[0], -0.5 * q[1]];
    piece.n = shear(n, line[0]);
    piece.vy = shear(vy, line[1]);
    piece.vz = shear(vz, line[2]);
    piece.t = [t, 0.0, 0.0];
    piece.my = [my, piece.vz[0], piece.vz[1] / 2.0, piece.vz[2] / 3.0];
    piece.mz = [mz, -piece.vy[0], -piece.vy[1] / 2.0, -piece.vy[2] / 3.0];
    let turn = |r: f64, m: [f64; 4], ei: f64| [r, m[0] / ei, m[1] / (2.0 * ei), m[2] / (3.0 * ei), m[3] / (4.0 * ei)];
    let (turn_y, turn_z) = (turn(ry, piece.my, bar.eiy), turn(rz, piece.mz, bar.eiz));
    let sag = |u: f64, theta: [f64; 5], sign: f64, v: [f64; 3], ga: f64| {
        let mut w = [u, 0.0, 0.0, 0.0, 0.0, 0.0];
        for k in 0..5 {
            let slope = sign * theta[k] + if k < 3 { v[k] / ga } else { 0.0 };
            w[k + 1] = slope / (k + 1) as f64;
        }
        w
    };
    piece.uy = sag(uy, turn_z, 1.0, piece.vy, bar.gay);
    piece.uz = sag(uz, turn_y, -1.0, piece.vz, bar.gaz);
    let s = piece.to_mm - piece.from_mm;
    let stretch = [0.0, piece.n[0], piece.n[1] / 2.0, piece.n[2] / 3.0];
    Start {
        forces: [&piece.n[..], &piece.vy, &piece.vz, &piece.t, &piece.my, &piece.mz].map(|p| value(p, s)),
        moves: [
            ux + value(&stretch, s) / bar.ea,
            value(&piece.uy, s),
            value(&piece.uz, s),
            rx + t * s / bar.gj,
            value(&turn_y, s),
            value(&turn_z, s),
        ],
    }
}

#[cfg(test)]
mod tests;
