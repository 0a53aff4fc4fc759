//! One combination by second order (EN 1995-1-1 5.4.4): the frame out of plumb and its pressed members bowed, in
//! equilibrium where it moves to, with E_mean/gamma_M.

use super::assemble;
use super::buckling::{self, Axial};
use super::divide::{Divided, divided};
use super::element::Twelve;
use super::line::Piece;
use super::load::{LoadCase, MemberLoad};
use super::mesh::{Element, Mesh};
use super::operators::local;
use super::recover::{self, Start};
use super::solve::Analysis;
use super::stiffness::Stiffness;
use crate::design::vector::{dot, scale};
use crate::design::{Frame, Vector};
use crate::error::CheckError;

/// Lean of the whole frame, radians: 5.4.4(2), phi = 0.005 for frames up to 5 m high (from memory of the standard).
pub const LEAN: f64 = 0.005;
/// Bow of a pressed member over its length (5.4.4(2), from memory of the standard).
pub const BOW: f64 = 0.0025;
/// Most rounds until the axial forces agree with those the stiffness was reckoned with.
const ROUNDS: usize = 6;
/// Change of the greatest axial force that counts as none.
const SETTLED: f64 = 1e-4;

/// One combination, leaning one way.
pub struct Leaning {
    /// The divided frame with the axial forces in its stiffness.
    pub divided: Divided,
    /// All loads of the combination together.
    pub case: LoadCase,
    /// Displacements from the imperfect shape, by raw degree of freedom of the divided mesh.
    pub u: Vec<f64>,
    /// The way it leans: a level unit vector.
    pub lean: Vector,
    /// Compression of each divided bar, N.
    pub pressed: Vec<f64>,
}

/// Solves a combination leaning to `lean` (a level unit vector), bows to the same side. `parts` are those of the
/// buckling study. `None` where the frame has no equilibrium: it buckles under less.
///
/// # Errors
/// [`CheckError::TooLarge`] when memory runs out.
pub fn leaning(
    analysis: &Analysis<'_>,
    parts: &[usize],
    terms: &[(usize, f64)],
    lean: Vector,
) -> Result<Option<Leaning>, CheckError> {
    let axial = Axial::new(analysis).combined(terms);
    let plain = &analysis.system.mesh;
    let mut pressed: Option<Vec<f64>> = None;
    let mut solved = None;
    for _round in 0..ROUNDS {
        let before = pressed.clone();
        let start = |within: &[(usize, f64)]| before.unwrap_or_else(|| buckling::pressed(within, &axial));
        let mut used = Vec::new();
        let made = divided(analysis.frame, plain, parts, Stiffness::SecondOrder, |within| {
            used = start(within);
            used.clone()
        })?;
        let Some(made) = made else { return Ok(None) };
        let u = moved(analysis, &made, &used, terms, lean);
        let now = compression(analysis, &made, &u);
        let greatest = now.iter().map(|p| p.abs()).fold(0.0, f64::max);
        let change = now.iter().zip(&used).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        solved = Some((made, u, used));
        if change <= SETTLED * greatest {
            break;
        }
        pressed = Some(now);
    }
    let Some((divided, u, pressed)) = solved else { return Ok(None) };
    Ok(Some(Leaning { divided, case: together(analysis, terms), u, lean, pressed }))
}

/// Displacements of the combination's loads and of what the compression does to the imperfect shape.
fn moved(analysis: &Analysis<'_>, made: &Divided, pressed: &[f64], terms: &[(usize, f64)], lean: Vector) -> Vec<f64> {
    let system = &made.system;
    let cases = system.solve(analysis.frame, &analysis.cases);
    let mut reduced = vec![0.0; system.order()];
    system.reduce(&imperfect(analysis, made, pressed, lean), &mut reduced);
    system.factor.solve(&mut reduced, 1);
    let mut u = vec![0.0; system.mesh.raw_count()];
    system.expand(&reduced, &mut u);
    for (case, factor) in terms {
        u.iter_mut().zip(&cases[*case].u).for_each(|(sum, more)| *sum += factor * more);
    }
    u
}

/// Mean compression of each bar from its stretch.
fn compression(analysis: &Analysis<'_>, made: &Divided, u: &[f64]) -> Vec<f64> {
    let of = |element: &super::mesh::Element| {
        -element.bar.forces(&local(&analysis.frame.members[element.member].axes, u, element.start))[6]
    };
    made.system.mesh.elements.iter().map(of).collect()
}

/// Forces of the compression on the imperfect shape.
fn imperfect(analysis: &Analysis<'_>, made: &Divided, pressed: &[f64], lean: Vector) -> Vec<f64> {
    let mesh = &made.system.mesh;
    let mut forces = vec![0.0; mesh.raw_count()];
    for (element, pressed) in mesh.elements.iter().zip(pressed) {
        let axes = &analysis.frame.members[element.member].axes;
        let of = element.bar.geometric_forces(&shape(analysis.frame, mesh, element, *pressed, lean), [*pressed; 2]);
        let raw = 6 * element.start;
        forces[raw..raw + 12].iter_mut().zip(assemble::to_vehicle(axes, &of)).for_each(|(f, more)| *f += more);
    }
    forces
}

/// The imperfect shape of a bar, local axes: every member along its leaning chord, a pressed one bowed besides, in both its
/// planes, towards the lean.
fn shape(frame: &Frame, mesh: &Mesh, element: &Element, pressed: f64, lean: Vector) -> Twelve {
    let member = &frame.members[element.member];
    let length = member.length_mm;
    let mut shape = [0.0; 12];
    for (end, place) in [element.start, element.start + 1].into_iter().enumerate() {
        let (height, part) = (mesh.places[place].point[2], mesh.places[place].at_mm / length);
        for axis in [1, 2] {
            let towards = dot(member.axes[axis], lean);
            let side = if towards < 0.0 { -1.0 } else { 1.0 };
            let bow = if pressed > 0.0 { side * BOW * length } else { 0.0 };
            // A lean moves a place by its height; along a member that is a straight line.
            shape[6 * end + axis] = LEAN * height * towards + bow * 4.0 * part * (1.0 - part);
            let slope = LEAN * member.axes[0][2] * towards + bow * 4.0 * (1.0 - 2.0 * part) / length;
            // A positive turn about z raises y along x, about y it lowers z.
            let (turn, sign) = if axis == 1 { (5, 1.0) } else { (4, -1.0) };
            shape[6 * end + turn] = sign * slope;
        }
    }
    shape
}

impl Leaning {
    /// A member's stress resultants piece by piece. At its places a bar's moments are those that hold the place in
    /// equilibrium where it has moved to; between them they run with the loads, and the shear is their slope.
    pub fn pieces(&self, frame: &Frame, member: usize) -> Vec<Piece> {
        let mesh = &self.divided.system.mesh;
        let cuts = recover::cuts(mesh, std::slice::from_ref(&self.case), member);
        let loads = self.case.on(member);
        let from = mesh.elements.partition_point(|e| e.start < mesh.spans[member].0);
        let length = frame.members[member].length_mm;
        let near = recover::HAIR * length;
        let mut pieces: Vec<Piece> = Vec::with_capacity(cuts.bar.len());
        for (bar, element) in mesh.elements[from..].iter().enumerate().take_while(|(_, e)| e.member == member) {
            let ends = self.ends(frame, from + bar);
            let moves = local(&frame.members[member].axes, &self.u, element.start);
            let mut start =
                Start { forces: std::array::from_fn(|i| -ends[i]), moves: std::array::from_fn(|i| moves[i]) };
            let first = pieces.len();
            for (index, _) in cuts.bar.iter().enumerate().filter(|(_, of)| **of == bar) {
                let mut piece = Piece { from_mm: cuts.at_mm[index], to_mm: cuts.at_mm[index + 1], ..Piece::default() };
                recover::jump(&mut start, loads, piece.from_mm, near);
                let line = recover::line_load(loads, piece.from_mm, piece.to_mm);
                start = recover::integrate(&mut piece, &element.bar, start, line);
                pieces.push(piece);
            }
            // A moment at the member's very end acts behind the last face.
            let behind = |axis: usize| -> f64 {
                let at_end = |at: f64| element.start + 2 == mesh.spans[member].1 && (at - length).abs() <= near;
                let moments = loads.iter().filter_map(|(_, load)| match load {
                    MemberLoad::Point { at, moment, .. } if at_end(*at) => Some(moment[axis]),
                    MemberLoad::Point { .. } | MemberLoad::Line { .. } => None,
                });
                moments.sum()
            };
            let miss = [1, 2].map(|axis| ends[9 + axis] + behind(axis) - start.forces[3 + axis]);
            slope_to(&mut pieces[first..], miss, element.bar.length);
        }
        pieces
    }

    /// What a bar's ends give to its places, local axes: stiffness less compression, on the imperfect shape, less its loads.
    fn ends(&self, frame: &Frame, index: usize) -> Twelve {
        let mesh = &self.divided.system.mesh;
        let element = &mesh.elements[index];
        let u = local(&frame.members[element.member].axes, &self.u, element.start);
        let shape = shape(frame, mesh, element, self.pressed[index], self.lean);
        let stiff = element.bar.forces(&u);
        let whole: Twelve = std::array::from_fn(|i| u[i] + shape[i]);
        let pressed = element.bar.geometric_forces(&whole, [self.pressed[index]; 2]);
        let fixed = recover::equivalent(mesh, element, self.case.on(element.member));
        std::array::from_fn(|i| stiff[i] - pressed[i] - fixed[i])
    }
}

/// Adds a straight line to the moments of one bar's pieces, so that they end `miss` (about y, about z) higher.
fn slope_to(pieces: &mut [Piece], [about_y, about_z]: [f64; 2], length: f64) {
    let Some(begin) = pieces.first().map(|p| p.from_mm) else { return };
    for piece in pieces {
        let before = piece.from_mm - begin;
        for (moment, shear, miss, sign) in
            [(&mut piece.my, &mut piece.vz, about_y, 1.0), (&mut piece.mz, &mut piece.vy, about_z, -1.0)]
        {
            moment[0] += miss / length * before;
            moment[1] += miss / length;
            shear[0] += sign * miss / length;
        }
    }
}

/// All loads of a combination as one case.
fn together(analysis: &Analysis<'_>, terms: &[(usize, f64)]) -> LoadCase {
    let mut loads = Vec::new();
    for (case, factor) in terms {
        loads.extend(analysis.cases[*case].loads.iter().map(|(member, load)| (*member, scaled(load, *factor))));
    }
    loads.sort_by_key(|l: &(usize, MemberLoad)| l.0);
    LoadCase::of(loads)
}

fn scaled(load: &MemberLoad, by: f64) -> MemberLoad {
    match *load {
        MemberLoad::Point { at, force, moment } => {
            MemberLoad::Point { at, force: scale(force, by), moment: scale(moment, by) }
        }
        MemberLoad::Line { from, to, start, end } => {
            MemberLoad::Line { from, to, start: scale(start, by), end: scale(end, by) }
        }
    }
}
