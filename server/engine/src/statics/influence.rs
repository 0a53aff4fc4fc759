//! What single loads do to the upward force of an anchor, by Müller-Breslau: the anchor is moved up by one, and the
//! force a load puts on it is the work of the load on that movement, with the sign turned. Exact, for the shapes of
//! the bars are.

use super::assemble;
use super::mesh::Holder;
use super::recover;
use super::solve::Analysis;
use super::system::refine;
use crate::design::Grip;
use crate::design::frame::FrameAnchor;
use crate::error::CheckError;
use crate::statics::load::MemberLoad;

/// A least upright share of an anchor's axis that still counts as holding down.
const UPRIGHT: f64 = 1e-6;

/// True where an anchor can carry weight: a grip along an axis that is not level.
pub fn holds_down(anchor: &FrameAnchor) -> bool {
    (0..3).any(|k| anchor.grips[k] != Grip::Free && anchor.axes[k][2].abs() > UPRIGHT)
}

/// Movements of all places when anchors are moved up by one.
pub struct Moved {
    u: Vec<f64>,
}

impl Moved {
    /// Upward force on the frame at the moved anchor that nodal loads of one bar make.
    pub fn force(&self, loads: &BarLoads) -> f64 {
        let moved = &self.u[loads.first..loads.first + 12];
        -loads.vehicle.iter().zip(moved).map(|(f, u)| f * u).sum::<f64>()
    }
}

/// Loads within one bar as nodal loads.
#[derive(Clone, Copy, Debug)]
pub struct BarLoads {
    /// First raw degree of freedom of the bar.
    first: usize,
    /// Nodal loads, vehicle axes.
    vehicle: [f64; 12],
}

impl BarLoads {
    /// Sum of the forces along a vehicle axis, N.
    pub fn sum(&self, axis: usize) -> f64 {
        self.vehicle[axis] + self.vehicle[6 + axis]
    }
}

/// Loads of one member, bar by bar (the index of each bar comes along); bars without load are left out. Nothing where
/// the member could not be computed.
pub fn by_bar(analysis: &Analysis<'_>, member: usize, loads: &[(usize, MemberLoad)]) -> Vec<(usize, BarLoads)> {
    let mesh = &analysis.system.mesh;
    let own =
        mesh.elements.partition_point(|e| e.member < member)..mesh.elements.partition_point(|e| e.member <= member);
    let axes = &analysis.frame.members[member].axes;
    own.filter_map(|index| {
        let element = &mesh.elements[index];
        let vehicle = assemble::to_vehicle(axes, &recover::equivalent(mesh, element, loads));
        (vehicle != [0.0; 12]).then_some((index, BarLoads { first: 6 * element.start, vehicle }))
    })
    .collect()
}

/// Anchors with the part each is of, in groups whose anchors are of different parts and so do not feel one another:
/// one movement serves a group. The order within a part stays.
pub fn groups(anchors: &[(usize, usize)], parts: usize) -> Vec<Vec<(usize, usize)>> {
    let mut groups: Vec<Vec<(usize, usize)>> = Vec::new();
    let mut taken = vec![0_usize; parts];
    for (anchor, part) in anchors {
        if taken[*part] == groups.len() {
            groups.push(Vec::new());
        }
        groups[taken[*part]].push((*anchor, *part));
        taken[*part] += 1;
    }
    groups
}

/// Moves the anchors of each group up by one; all movements are solved together.
///
/// # Errors
/// [`CheckError::Stopped`].
pub fn moved(
    analysis: &Analysis<'_>,
    groups: &[Vec<(usize, usize)>],
    stop: &dyn Fn() -> bool,
) -> Result<Vec<Moved>, CheckError> {
    if stop() {
        return Err(CheckError::Stopped);
    }
    let system = &analysis.system;
    let order = system.order();
    let mut wanted = vec![0.0; order * groups.len()];
    let lifted = groups.iter().enumerate();
    let forced: Vec<Vec<f64>> =
        lifted.map(|(k, group)| lift(analysis, group, &mut wanted[k * order..(k + 1) * order])).collect();
    let mut unknowns = wanted.clone();
    system.factor.solve(&mut unknowns, groups.len());
    refine(&system.scaled, &system.factor, &wanted, &mut unknowns, order);
    let moved = forced.into_iter().enumerate().map(|(k, forced)| {
        let mut u = vec![0.0; forced.len()];
        system.expand(&unknowns[k * order..(k + 1) * order], &mut u);
        u.iter_mut().zip(&forced).for_each(|(moved, forced)| *moved += forced);
        Moved { u }
    });
    Ok(moved.collect())
}

/// What moving the anchors of a group up by one forces on the places; the forces that does to the unknowns go into
/// `wanted`.
fn lift(analysis: &Analysis<'_>, group: &[(usize, usize)], wanted: &mut [f64]) -> Vec<f64> {
    let (frame, system) = (analysis.frame, &analysis.system);
    let mesh = &system.mesh;
    let upright = |holder: &Holder| match holder {
        Holder::Anchor(anchor, k) if *k < 3 => Some(frame.anchors[*anchor].axes[*k][2]),
        _ => None,
    };
    let mut pull = vec![0.0; mesh.raw_count()];
    let mut values = Vec::new();
    for (anchor, _) in group {
        let holds = &mesh.anchor_holds[*anchor];
        values.extend(holds.equations.clone().filter_map(|i| Some((i, upright(&mesh.holders[i])?))));
        for spring in &mesh.springs[holds.springs.clone()] {
            let Some(rise) = upright(&spring.holder) else { continue };
            spring.row.iter().for_each(|(dof, c)| pull[*dof] += spring.stiffness * rise * c);
        }
    }
    let forced = system.elimination.forced_by(&values);
    let mut loads = assemble::out_of_balance(frame, mesh, &forced, &pull);
    loads.iter_mut().for_each(|f| *f = -*f);
    system.reduce(&loads, wanted);
    forced
}

#[cfg(test)]
mod tests;
