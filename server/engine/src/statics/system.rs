//! The equations of a frame in one state of stiffness, factorised, and what is solved with them.

use super::assemble;
use super::constraint::Elimination;
use super::factor::{Factor, FactorError, Lower, Shape};
use super::load::LoadCase;
use super::mesh::Mesh;
use super::recover;
use super::solve::anchor_force;
use super::stiffness::Stiffness;
use crate::design::vector::{add, to_vehicle};
use crate::design::{Frame, Vector};
use std::sync::Arc;

/// A mesh with its equations eliminated and its matrix assembled, not factorised yet.
pub struct Parts {
    /// Places, bars, holds.
    pub mesh: Mesh,
    /// Rigid holds, eliminated.
    pub elimination: Elimination,
    /// T' K T.
    pub matrix: Lower,
    /// Factors that bring its diagonal to one.
    pub scaling: Vec<f64>,
    /// The matrix so scaled.
    pub scaled: Lower,
    /// Order of elimination and shape of the factor.
    pub shape: Shape,
}

/// Why a mesh has no equations.
pub enum PartsError {
    /// Settlements contradict one another.
    Contradiction {
        /// The mesh.
        mesh: Box<Mesh>,
        /// Index of the equation.
        equation: usize,
    },
    /// Out of memory.
    OutOfMemory,
}

impl Parts {
    /// Eliminates and assembles.
    ///
    /// # Errors
    /// [`PartsError`].
    pub fn new(frame: &Frame, mesh: Mesh) -> Result<Self, PartsError> {
        Self::pressed(frame, mesh, &[])
    }

    /// The same with the compression of each bar, N, taken from its stiffness (second order); empty: none.
    ///
    /// # Errors
    /// [`PartsError`].
    pub fn pressed(frame: &Frame, mesh: Mesh, compression: &[f64]) -> Result<Self, PartsError> {
        let elimination = match Elimination::new(mesh.raw_count(), &mesh.equations, mesh.arm) {
            Ok(elimination) => elimination,
            Err(contradiction) => {
                return Err(PartsError::Contradiction { mesh: Box::new(mesh), equation: contradiction.0 });
            }
        };
        let matrix = assemble::matrix(frame, &mesh, &elimination, compression);
        let scaling = matrix.scaling();
        let shape = Shape::new(&matrix, &groups(&elimination)).map_err(|_| PartsError::OutOfMemory)?;
        let scaled = matrix.scaled(&scaling, 0.0);
        Ok(Self { mesh, elimination, matrix, scaling, scaled, shape })
    }

    /// Factorises.
    ///
    /// # Errors
    /// [`FactorError::NotPositive`] where something can move.
    pub fn factor(&self) -> Result<Factor, FactorError> {
        self.shape.factor(&self.scaled)
    }

    /// The system with its factor.
    pub fn with(self, factor: Factor) -> System {
        let Self { mesh, elimination, scaling, scaled, shape, .. } = self;
        let spread = Spread::new(&elimination, &scaling);
        System { mesh, elimination: Arc::new(elimination), scaling, spread, scaled, shape, factor }
    }
}

/// A frame's equations in one state of stiffness, ready to be solved.
///
/// The unknowns `y` are scaled: free displacements are `q = scaling x y`, raw ones `u = T q + forced`.
pub struct System {
    /// Places, bars, holds.
    pub mesh: Mesh,
    /// Rigid holds, eliminated.
    pub elimination: Arc<Elimination>,
    /// Factors between unknowns and free displacements.
    pub scaling: Vec<f64>,
    /// Both at hand for [`System::reduce`] and [`System::expand`].
    spread: Spread,
    /// The scaled matrix.
    pub scaled: Lower,
    /// Order of elimination and shape of the factor.
    pub shape: Shape,
    /// Its factor.
    pub factor: Factor,
}

impl System {
    /// Number of unknowns.
    pub fn order(&self) -> usize {
        self.scaled.order
    }

    /// The same frame in another state of stiffness: places, holds and the pattern of its equations stay. `None` where it
    /// can move in it.
    pub fn in_state(&self, frame: &Frame, stiffness: Stiffness) -> Option<Self> {
        let mesh = self.mesh.in_state(frame, stiffness);
        let matrix = assemble::matrix(frame, &mesh, &self.elimination, &[]);
        let scaling = matrix.scaling();
        let scaled = matrix.scaled(&scaling, 0.0);
        let factor = self.shape.factor(&scaled).ok()?;
        let spread = Spread::new(&self.elimination, &scaling);
        let (elimination, shape) = (Arc::clone(&self.elimination), self.shape.clone());
        Some(Self { mesh, elimination, scaling, spread, scaled, shape, factor })
    }

    /// Displacements, hold forces and evidence of load cases.
    pub fn solve(&self, frame: &Frame, cases: &[LoadCase]) -> Vec<SolvedCase> {
        let n = self.order();
        let raw: Vec<Vec<f64>> = cases.iter().map(|case| raw_loads(frame, &self.mesh, case)).collect();
        let mut right = vec![0.0; n * cases.len()];
        for (k, (case, loads)) in cases.iter().zip(&raw).enumerate() {
            let column = &mut right[k * n..(k + 1) * n];
            if case.settlement {
                let mut forced = assemble::out_of_balance(frame, &self.mesh, &self.elimination.forced, loads);
                forced.iter_mut().for_each(|f| *f = -*f);
                self.reduce(&forced, column);
            } else {
                self.reduce(loads, column);
            }
        }
        let wanted = right.clone();
        self.factor.solve(&mut right, cases.len());
        refine(&self.scaled, &self.factor, &wanted, &mut right, n);
        let columns = cases.iter().zip(&raw).enumerate();
        columns
            .map(|(k, (case, loads))| {
                let q: Vec<f64> = right[k * n..(k + 1) * n].iter().zip(&self.scaling).map(|(y, s)| y * s).collect();
                finish(frame, &self.mesh, &self.elimination, case, loads, &q)
            })
            .collect()
    }

    /// Forces by raw degree of freedom as forces on the scaled unknowns; `reduced` is overwritten.
    pub fn reduce(&self, raw: &[f64], reduced: &mut [f64]) {
        self.spread.reduce(raw, reduced);
    }

    /// Scaled unknowns as displacements by raw degree of freedom, without forced movements; `raw` is overwritten.
    pub fn expand(&self, unknowns: &[f64], raw: &mut [f64]) {
        self.spread.expand(unknowns, raw);
    }
}

/// Every raw degree of freedom as a sum of scaled unknowns, written one after another.
pub struct Spread {
    /// Where the terms of each raw degree of freedom begin.
    starts: Vec<usize>,
    /// Unknown and factor of each term.
    terms: Vec<(usize, f64)>,
}

impl Spread {
    /// From the free unknowns' terms and their scaling.
    pub fn new(elimination: &Elimination, scaling: &[f64]) -> Self {
        let mut starts = vec![0];
        let mut terms = Vec::new();
        for of in &elimination.terms {
            terms.extend(of.iter().map(|(unknown, factor)| (*unknown, factor * scaling[*unknown])));
            starts.push(terms.len());
        }
        Self { starts, terms }
    }

    fn rows(&self) -> impl Iterator<Item = &[(usize, f64)]> {
        self.starts.windows(2).map(|row| &self.terms[row[0]..row[1]])
    }

    /// Forces by raw degree of freedom as forces on the scaled unknowns; `reduced` is overwritten.
    pub fn reduce(&self, raw: &[f64], reduced: &mut [f64]) {
        reduced.fill(0.0);
        for (force, terms) in raw.iter().zip(self.rows()).filter(|(force, _)| **force != 0.0) {
            terms.iter().for_each(|(unknown, factor)| reduced[*unknown] += factor * force);
        }
    }

    /// Scaled unknowns as displacements by raw degree of freedom, without forced movements; `raw` is overwritten.
    pub fn expand(&self, unknowns: &[f64], raw: &mut [f64]) {
        for (moved, terms) in raw.iter_mut().zip(self.rows()) {
            *moved = terms.iter().map(|(unknown, factor)| factor * unknowns[*unknown]).sum();
        }
    }
}

/// Place of each free unknown, numbered as they come.
fn groups(elimination: &Elimination) -> Vec<usize> {
    let mut group = vec![0; elimination.free_count];
    let mut places = Vec::new();
    for (dof, terms) in elimination.terms.iter().enumerate() {
        // A free unknown stands for itself.
        if let [(unknown, factor)] = terms[..]
            && factor == 1.0
            && group[unknown] == 0
        {
            group[unknown] = dof / 6 + 1;
            places.push(dof / 6 + 1);
        }
    }
    places.sort_unstable();
    places.dedup();
    group.iter().map(|g| places.partition_point(|p| p < g)).collect()
}

/// Displacements, hold forces and evidence of one case.
#[derive(Clone, Debug, Default)]
pub struct SolvedCase {
    /// Displacements by raw degree of freedom, vehicle axes.
    pub u: Vec<f64>,
    /// Force of each equation of the mesh.
    pub held: Vec<f64>,
    /// Force of each spring of the mesh.
    pub sprung: Vec<f64>,
    /// Sum of the loads on the computed part.
    pub load_sum: Vector,
    /// Sum of the anchors' forces on the frame.
    pub reaction_sum: Vector,
    /// Largest force that no hold carries, N or N·mm: 0 but for rounding.
    pub unheld: f64,
    /// Largest force of bars, springs and loads at a place, N or N·mm.
    pub largest: f64,
}

/// One step of iterative refinement: brings the error from the factor down to that of the matrix itself.
pub(super) fn refine(scaled: &Lower, factor: &Factor, wanted: &[f64], solution: &mut [f64], n: usize) {
    if n == 0 {
        return;
    }
    let mut left: Vec<f64> = Vec::with_capacity(wanted.len());
    for (want, have) in wanted.chunks(n).zip(solution.chunks(n)) {
        left.extend(want.iter().zip(scaled.multiply(have)).map(|(w, k)| w - k));
    }
    factor.solve(&mut left, wanted.len() / n);
    solution.iter_mut().zip(&left).for_each(|(s, l)| *s += l);
}

/// Nodal loads equivalent to a case, by raw degree of freedom, vehicle axes.
pub fn raw_loads(frame: &Frame, mesh: &Mesh, case: &LoadCase) -> Vec<f64> {
    let mut loads = vec![0.0; mesh.raw_count()];
    for element in &mesh.elements {
        let on = case.on(element.member);
        if on.is_empty() {
            continue;
        }
        let local = recover::equivalent(mesh, element, on);
        let vehicle = assemble::to_vehicle(&frame.members[element.member].axes, &local);
        let raw = 6 * element.start;
        loads[raw..raw + 12].iter_mut().zip(vehicle).for_each(|(l, v)| *l += v);
    }
    if case.settlement {
        for spring in mesh.springs.iter().filter(|s| s.rest != 0.0) {
            spring.row.iter().for_each(|(dof, c)| loads[*dof] += spring.stiffness * spring.rest * c);
        }
    }
    loads
}

fn finish(
    frame: &Frame,
    mesh: &Mesh,
    elimination: &Elimination,
    case: &LoadCase,
    loads: &[f64],
    q: &[f64],
) -> SolvedCase {
    let u: Vec<f64> = elimination
        .terms
        .iter()
        .zip(&elimination.forced)
        .map(|(terms, forced)| {
            let moved: f64 = terms.iter().map(|(k, f)| f * q[*k]).sum();
            if case.settlement { moved + forced } else { moved }
        })
        .collect();
    let mut residual = assemble::out_of_balance(frame, mesh, &u, loads);
    let largest = residual.iter().chain(loads).map(|r| r.abs()).fold(0.0, f64::max);
    let held = elimination.multipliers(&mut residual);
    let unheld = residual.iter().map(|r| r.abs()).fold(0.0, f64::max);
    let sprung: Vec<f64> = mesh
        .springs
        .iter()
        .map(|s| {
            let stretch: f64 = s.row.iter().map(|(dof, c)| c * u[*dof]).sum();
            let rest = if case.settlement { s.rest } else { 0.0 };
            -s.stiffness * (stretch - rest)
        })
        .collect();
    let mut solved = SolvedCase { u, held, sprung, unheld, largest, ..SolvedCase::default() };
    solved.load_sum = load_sum(frame, mesh, case);
    solved.reaction_sum = (0..frame.anchors.len()).fold([0.0; 3], |sum, anchor| {
        let (force, _) = anchor_force(frame, mesh, &solved, anchor);
        add(sum, force)
    });
    solved
}

fn load_sum(frame: &Frame, mesh: &Mesh, case: &LoadCase) -> Vector {
    case.loads.iter().filter(|l| !mesh.left_out[l.0]).fold([0.0; 3], |sum, (member, load)| {
        let force = to_vehicle(&frame.members[*member].axes, load.force());
        add(sum, force)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::{Axes, Grip, Hold};
    use crate::statics::constraint::Equation;
    use crate::statics::mesh::Plan;
    use crate::statics::small_frames::{crossing, design, frame};

    /// Unknowns of a place are of one group, groups numbered as their places come: the second of three places is tied
    /// to the first and has none of its own, one direction of the third is half of another (by hand).
    #[test]
    fn unknowns_are_grouped_by_place() {
        let mut equations: Vec<Equation> =
            (0..6).map(|k| Equation { row: vec![(k, 1.0), (6 + k, -1.0)], value: 0.0 }).collect();
        equations.push(Equation { row: vec![(12, 1.0), (13, -2.0)], value: 0.0 });
        let groups = Elimination::new(18, &equations, 1.0).map(|e| groups(&e));
        assert_eq!(groups.ok(), Some(vec![0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 1]));
    }

    /// From nothing at all one step of refinement leads to the solution: K x is what was wanted, in each column.
    #[test]
    fn refinement_takes_the_rest_away() {
        let frame = crossing("C24", "C24");
        let parts = Parts::new(&frame, Mesh::new(&frame, &Plan::plain(&[false, false]))).ok();
        let solved = parts.and_then(|parts| {
            let factor = parts.factor().ok()?;
            let n = parts.scaled.order;
            let wanted: Vec<f64> = (0..2 * n).map(|k| (k * k % 7) as f64 - 3.0).collect();
            let mut solution = vec![0.0; 2 * n];
            refine(&parts.scaled, &factor, &wanted, &mut solution, n);
            let back = solution.chunks(n).flat_map(|x| parts.scaled.multiply(x));
            Some(back.zip(&wanted).map(|(b, w)| (b - w).abs()).fold(0.0, f64::max))
        });
        assert!(solved.is_some_and(|worst| worst < 1e-6), "{solved:?}");
    }

    /// A leaning member on a springy anchor alone follows the anchor's settlement as a whole, and no force comes of it.
    #[test]
    fn a_springy_anchor_takes_its_member_along() {
        let mut design = design(&[("A", "C24", [0.0, 0.0, 0.0], [600.0, 0.0, 800.0])]);
        let springs = [50.0, 70.0, 90.0, 1e7, 2e7, 3e7].map(Grip::Spring);
        design.anchors[0].hold = Hold::Given(springs);
        design.anchors[0].axes = Axes::Member;
        design.anchors[0].settlement = [2.0, -1.0, 5.0, 0.0, 0.0, 0.0];
        let frame = frame(&design);
        let analysis = crate::statics::solve::analyse(&frame, &|| false).ok();
        let moved = analysis.and_then(|a| {
            let case = a.cases.iter().position(|c| c.settlement)?;
            assert!(a.solved[case].sprung.iter().all(|force| force.abs() < 1e-6));
            Some(a.solved[case].u.clone())
        });
        let wanted = to_vehicle(&frame.members[0].axes, [2.0, -1.0, 5.0]);
        let moved = moved.unwrap_or_default();
        assert_eq!(moved.len(), 12);
        for place in moved.chunks(6) {
            assert!((0..3).all(|i| (place[i] - wanted[i]).abs() < 1e-9 && place[3 + i].abs() < 1e-9), "{place:?}");
        }
    }
}
