//! One combination by second order (EN 1995-1-1 5.4.4): the frame out of plumb and its pressed members bowed, in
//! equilibrium where it moves to, with E_mean/gamma_M.

use super::assemble;
use super::buckling::{self, Axial};
use super::constraint::Elimination;
use super::divide::{Divided, divided};
use super::element::Twelve;
use super::factor::Shape;
use super::line::Piece;
use super::load::{LoadCase, MemberLoad};
use super::mesh::{Element, Mesh};
use super::operators::local;
use super::recover::{self, Start};
use super::solve::Analysis;
use super::stiffness::Stiffness;
use super::system::{Spread, System, raw_loads};
use crate::design::vector::{dot, scale};
use crate::design::{Frame, Vector};
use crate::error::CheckError;
use std::sync::Arc;

/// Lean of the whole frame, radians: 5.4.4(2), phi = 0.005 for frames up to 5 m high (from memory of the standard).
pub const LEAN: f64 = 0.005;
/// Bow of a pressed member over its length (5.4.4(2), from memory of the standard).
pub const BOW: f64 = 0.0025;
/// Most rounds until the axial forces agree with those the stiffness was reckoned with.
const ROUNDS: usize = 6;
/// Change of the greatest axial force that counts as none.
const SETTLED: f64 = 1e-4;

/// A divided frame whose combinations are solved by second order, one after another, on one pattern of equations.
pub struct Base<'a> {
    analysis: &'a Analysis<'a>,
    /// Its places and bars.
    pub mesh: Mesh,
    elimination: Arc<Elimination>,
    shape: Shape,
    within: Vec<(usize, f64)>,
    axial: Axial,
}

/// One combination, leaning one way.
pub struct Leaning {
    /// All loads of the combination together.
    pub case: LoadCase,
    /// Displacements from the imperfect shape, by raw degree of freedom of the divided mesh.
    pub u: Vec<f64>,
    /// The way it leans: a level unit vector.
    pub lean: Vector,
    /// 1: pressed members bow towards the lean, -1: away from it.
    pub bowed: f64,
    /// Compression of each divided bar, N.
    pub pressed: Vec<f64>,
}

impl<'a> Base<'a> {
    /// Cuts the frame's plain bars into `parts` (those of the buckling study); `None` where it can't be computed.
    ///
    /// # Errors
    /// [`CheckError::TooLarge`] when memory runs out.
    pub fn new(analysis: &'a Analysis<'a>, parts: &[usize]) -> Result<Option<Self>, CheckError> {
        let plain = &analysis.system.mesh;
        let made = divided(analysis.frame, plain, parts, Stiffness::SecondOrder, |_| Vec::new())?;
        Ok(made.map(|Divided { system: System { mesh, elimination, shape, .. }, within }| {
            let axial = Axial::new(analysis);
            Self { analysis, mesh, elimination, shape, within, axial }
        }))
    }

    /// Solves a combination leaning to `lean` (a level unit vector), pressed members bowed towards it (`bowed` 1) or away
    /// from it (-1): a clamped post that leans is bent more at its foot by the latter, one between two ends alike by both.
    /// `None` where the frame has no equilibrium: it buckles under less.
    pub fn leaning(&self, terms: &[(usize, f64)], lean: Vector, bowed: f64) -> Option<Leaning> {
        let (loads, forced) = self.loads(terms);
        let mut pressed = buckling::pressed(&self.within, &self.axial.combined(terms));
        let mut u = Vec::new();
        for _round in 0..ROUNDS {
            u = self.moved(&pressed, &loads, &forced, (lean, bowed))?;
            let now = self.compression(&u);
            let greatest = now.iter().map(|p| p.abs()).fold(0.0, f64::max);
            let change = now.iter().zip(&pressed).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            if change <= SETTLED * greatest {
                break;
            }
            pressed = now;
        }
        Some(Leaning { case: together(self.analysis, terms), u, lean, bowed, pressed })
    }

    /// Nodal loads of a combination and movements forced on anchors, by raw degree of freedom.
    fn loads(&self, terms: &[(usize, f64)]) -> (Vec<f64>, Vec<f64>) {
        let mut loads = vec![0.0; self.mesh.raw_count()];
        let mut forced = vec![0.0; loads.len()];
        for (case, factor) in terms {
            let case = &self.analysis.cases[*case];
            let more = raw_loads(self.analysis.frame, &self.mesh, case);
            loads.iter_mut().zip(&more).for_each(|(sum, more)| *sum += factor * more);
            if case.settlement {
                forced.iter_mut().zip(&self.elimination.forced).for_each(|(sum, more)| *sum += factor * more);
            }
        }
        (loads, forced)
    }

    /// Displacements with a compression in the stiffness; `None` where it is not stiff enough.
    fn moved(&self, pressed: &[f64], loads: &[f64], forced: &[f64], lean: (Vector, f64)) -> Option<Vec<f64>> {
        let frame = self.analysis.frame;
        let matrix = assemble::matrix(frame, &self.mesh, &self.elimination, pressed);
        let scaling = matrix.scaling();
        let factor = self.shape.factor(&matrix.scaled(&scaling, 0.0)).ok()?;
        let imperfect = imperfect(frame, &self.mesh, pressed, forced, lean);
        // Less the forces that the forced movements alone would need.
        let mut right = assemble::out_of_balance(frame, &self.mesh, forced, loads);
        right.iter_mut().zip(&imperfect).for_each(|(r, more)| *r = more - *r);
        let mut q = vec![0.0; matrix.order];
        let spread = Spread::new(&self.elimination, &scaling);
        spread.reduce(&right, &mut q);
        factor.solve(&mut q, 1);
        let mut u = vec![0.0; loads.len()];
        spread.expand(&q, &mut u);
        u.iter_mut().zip(forced).for_each(|(u, forced)| *u += forced);
        Some(u)
    }

    /// Mean compression of each bar from its stretch.
    fn compression(&self, u: &[f64]) -> Vec<f64> {
        let members = &self.analysis.frame.members;
        let of = |element: &Element| -element.bar.forces(&local(&members[element.member].axes, u, element.start))[6];
        self.mesh.elements.iter().map(of).collect()
    }
}

/// Forces of the compression on the imperfect shape, moved with the anchors.
fn imperfect(frame: &Frame, mesh: &Mesh, pressed: &[f64], forced: &[f64], lean: (Vector, f64)) -> Vec<f64> {
    let mut forces = vec![0.0; mesh.raw_count()];
    for (element, pressed) in mesh.elements.iter().zip(pressed) {
        let axes = &frame.members[element.member].axes;
        let (shape, moved) = (shape(frame, mesh, element, *pressed, lean), local(axes, forced, element.start));
        let whole: Twelve = std::array::from_fn(|i| shape[i] + moved[i]);
        let of = element.bar.geometric_forces(&whole, [*pressed; 2]);
        let raw = 6 * element.start;
        forces[raw..raw + 12].iter_mut().zip(assemble::to_vehicle(axes, &of)).for_each(|(f, more)| *f += more);
    }
    forces
}

/// The imperfect shape of a bar, local axes: every member along its leaning chord, a pressed one bowed besides, in both its
/// planes, towards the lean or away from it.
fn shape(frame: &Frame, mesh: &Mesh, element: &Element, pressed: f64, (lean, bowed): (Vector, f64)) -> Twelve {
    let member = &frame.members[element.member];
    let length = member.length_mm;
    let mut shape = [0.0; 12];
    for (end, place) in [element.start, element.start + 1].into_iter().enumerate() {
        let (height, part) = (mesh.places[place].point[2], mesh.places[place].at_mm / length);
        for axis in [1, 2] {
            let towards = dot(member.axes[axis], lean);
            let side = if towards < 0.0 { -bowed } else { bowed };
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
    pub fn pieces(&self, frame: &Frame, mesh: &Mesh, member: usize) -> Vec<Piece> {
        let cuts = recover::cuts(mesh, std::slice::from_ref(&self.case), member);
        let loads = self.case.on(member);
        let from = mesh.elements.partition_point(|e| e.start < mesh.spans[member].0);
        let length = frame.members[member].length_mm;
        let near = recover::HAIR * length;
        let mut pieces: Vec<Piece> = Vec::with_capacity(cuts.bar.len());
        for (bar, element) in mesh.elements[from..].iter().enumerate().take_while(|(_, e)| e.member == member) {
            let ends = self.ends(frame, mesh, from + bar);
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
    fn ends(&self, frame: &Frame, mesh: &Mesh, index: usize) -> Twelve {
        let element = &mesh.elements[index];
        let u = local(&frame.members[element.member].axes, &self.u, element.start);
        let shape = shape(frame, mesh, element, self.pressed[index], (self.lean, self.bowed));
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

#[cfg(test)]
mod tests;
