//! Buckling of the frame in each combination: (K - alpha G) x = 0 with E_0,05 and G_0,05.
//!
//! Bars keep their cubic shapes and get inner ones where compression bends them between their places ([`super::inner`]).
//! All combinations are solved together. The greatest compression of each bar over all of them (the envelope) gives one
//! pencil whose lowest factor no combination falls below; its Krylov space and those of single columns are one small
//! space in which every combination is a small matrix, a sum over its load cases. Combinations that come under
//! [`TOLD`], or in which a member is a column, are then settled each by itself, their solutions side by side. Whether
//! what was found is the lowest is asked of the factor ([`certain`]); where it is not, the combination is searched anew.

mod certain;
mod columns;
mod modes;
mod shares;

use super::divide::{Divided, divided, parts_for};
use super::inner::{INNER_MAX, Press, Refined};
use super::krylov::{Ritz, Search, Space, run};
use super::mesh::Mesh;
use super::operators::Compression;
use super::recover::{Part, equivalent_of};
use super::solve::Analysis;
use super::stiffness::Stiffness;
use crate::design::Vector;
use crate::error::CheckError;
use certain::Claim;
pub use columns::Column;
use columns::Columns;
use modes::{Asked, Estimated, search_anew, settle};
use shares::Shares;
use std::f64::consts::PI;

/// Buckling factors over this are not told.
pub const TOLD: f64 = 20.0;
/// Estimates in the common space lie above the true factors; those under this are settled.
const SETTLED: f64 = 2.0 * TOLD;
/// Change of an eigenvalue in one round, over the greatest, at which it counts as settled.
const WITHIN: f64 = 1e-9;
/// Most modes of one combination that are settled.
const MODES_MAX: usize = 6;
/// P h²/E I of a bar up to which its cubic shape is good to 0.08 %.
const QUIET: f64 = 0.8;
/// P h²/E I of a bar and the number of inner shapes that are good to 0.1 % up to it: no bar bears more than 4 pi² in the
/// lowest mode, for which [`super::inner`]'s tests have the errors; further ones are waves within a bar.
const INNER: [(f64, usize); 2] = [(2.0 * PI * PI, 3), (16.0 * PI * PI, 5)];
/// Most vectors of the common space.
const SPACE_MAX: usize = 24;
/// Modes under this factor are asked whether they sway: there second order begins (P, after EN 1993-1-1 5.2.1).
pub const SWAY_LOOKED_AT: f64 = 10.0;

/// The lowest mode of one combination.
#[derive(Clone, Debug, Default)]
pub struct Buckled {
    /// Factor on all loads at which the frame buckles; infinite where nothing is pressed.
    pub factor: f64,
    /// True where members lean as a whole in some mode under 10, or in the lowest.
    pub sways: bool,
    /// Members that take most part, the most important first.
    pub members: Vec<usize>,
    /// Mean level direction in which the frame moves.
    pub direction: Vector,
    /// Buckling lengths of the members that are pressed enough to buckle.
    pub columns: Vec<Column>,
}

/// Buckling of all combinations.
pub struct Buckling {
    /// Parts into which each plain bar is to be cut where its cubic shape alone must do.
    pub parts: Vec<usize>,
    /// One a combination, in their order.
    pub states: Vec<Buckled>,
}

/// Axial force of each plain bar at its two ends, per case, N, tension positive; along a bar with an axial load at a point
/// between its ends the mean.
pub struct Axial(Vec<Vec<[f64; 2]>>);

impl Axial {
    /// From the solved cases.
    pub fn new(analysis: &Analysis<'_>) -> Self {
        let frame = analysis.frame;
        let of_case = |index: usize| {
            let (case, solved, mesh) = (&analysis.cases[index], &analysis.solved[index], analysis.mesh_of(index));
            let bars = mesh.elements.iter().map(|element| {
                let axes = &frame.members[element.member].axes;
                let u = super::operators::local(axes, &solved.u, element.start);
                // The stretch gives the mean over the bar exactly; what lies along it makes the rest (N' = -q_x).
                let mean = element.bar.forces(&u)[6];
                let on = case.on(element.member);
                let lines = if on.is_empty() { [0.0; 12] } else { equivalent_of(mesh, element, on, Part::Lines) };
                let half = 0.5 * (lines[0] + lines[6]);
                [mean + half, mean - half]
            });
            bars.collect()
        };
        Self((0..analysis.cases.len()).map(of_case).collect())
    }

    /// Axial forces of the plain bars in a combination.
    pub fn combined(&self, terms: &[(usize, f64)]) -> Vec<[f64; 2]> {
        let mut sum = vec![[0.0; 2]; self.0.first().map_or(0, Vec::len)];
        for (case, factor) in terms {
            for (sum, more) in sum.iter_mut().zip(&self.0[*case]) {
                *sum = [sum[0] + factor * more[0], sum[1] + factor * more[1]];
            }
        }
        sum
    }
}

/// Compression of each plain bar, alike in both planes.
fn both_planes(axial: &[[f64; 2]]) -> Vec<[Press; 2]> {
    axial.iter().map(|ends| [Press::between(*ends); 2]).collect()
}

/// Compression at the middle of each divided bar.
pub fn pressed(within: &[(usize, f64)], axial: &[[f64; 2]]) -> Vec<f64> {
    within.iter().map(|(bar, t)| -(axial[*bar][0] + (axial[*bar][1] - axial[*bar][0]) * t)).collect()
}

/// Buckling in every combination given by its terms.
///
/// # Errors
/// [`CheckError::Stopped`], [`CheckError::TooLarge`].
pub fn study(
    analysis: &Analysis<'_>,
    states: &[&[(usize, f64)]],
    stop: &dyn Fn() -> bool,
) -> Result<Buckling, CheckError> {
    let axial = Axial::new(analysis);
    let envelope = envelope(&axial, states);
    let columns = Columns::new(analysis, &axial, states);
    let none = || Buckled { factor: f64::INFINITY, ..Buckled::default() };
    let mut result = Buckling {
        parts: parts(&analysis.system.mesh, &envelope, &columns),
        states: states.iter().map(|_| none()).collect(),
    };
    if !envelope.iter().any(|pressed| *pressed > 0.0) {
        return Ok(result);
    }
    let Some(system) = analysis.system.in_state(analysis.frame, Stiffness::Buckling) else { return Ok(result) };
    let refined = Refined::new(&system, &inner(&analysis.system.mesh, &envelope, &columns));
    let Some((space, lowest)) = common_space(analysis, &refined, &envelope, &columns)? else { return Ok(result) };
    if lowest > TOLD && columns.is_empty() {
        let pressed: Vec<[f64; 2]> = envelope.iter().map(|pressed| [-pressed; 2]).collect();
        let claim = Claim::new(0, &pressed, f64::INFINITY);
        if certain::doubtful(analysis.frame, &refined, vec![claim]).is_empty() {
            // No combination falls below the envelope.
            return Ok(result);
        }
    }
    if stop() {
        return Err(CheckError::Stopped);
    }
    let shares = Shares::new(analysis.frame, &refined, &space, &axial, &envelope);
    let ritz: Vec<Vec<Ritz>> =
        states.iter().enumerate().map(|(index, terms)| shares.ritz(&space, terms, columns.any(index))).collect();
    let mut asked = Vec::new();
    for (index, (state, found)) in result.states.iter_mut().zip(&ritz).enumerate() {
        state.factor = factor(found.first());
        if state.factor >= SETTLED && !columns.any(index) {
            continue;
        }
        let pressed = both_planes(&axial.combined(states[index]));
        let operator = Compression { frame: analysis.frame, refined: &refined, pressed };
        let by_columns = columns.modes(index, found, &space, &operator);
        let modes = if state.factor < SETTLED { by_columns.max(1) } else { by_columns };
        if modes > 0 {
            asked.push(Asked { state: index, modes, operator });
        }
    }
    let estimated = Estimated { space: &space, ritz: &ritz };
    let mut decided = settle(analysis, &refined, &estimated, &asked, &columns, &mut result.states)?;
    if stop() {
        return Err(CheckError::Stopped);
    }
    let claim = |(index, terms): (usize, &&[(usize, f64)])| {
        Claim::new(index, &axial.combined(terms), result.states[index].factor)
    };
    let doubtful = certain::doubtful(analysis.frame, &refined, states.iter().enumerate().map(claim).collect());
    if !doubtful.is_empty() {
        decided.retain(|of| !doubtful.contains(&of.state));
        let again = doubtful.into_iter().map(|state| {
            let modes = asked.iter().find(|asked| asked.state == state).map_or(1, |asked| asked.modes);
            let pressed = both_planes(&axial.combined(states[state]));
            Asked { state, modes, operator: Compression { frame: analysis.frame, refined: &refined, pressed } }
        });
        let again: Vec<Asked<'_>> = again.collect();
        decided.extend(search_anew(analysis, &refined, &again, &columns, &mut result.states)?);
    }
    let decided = columns.all(analysis.frame, &refined, decided)?;
    let lengths = columns.spread(&decided);
    result.states.iter_mut().zip(lengths).for_each(|(state, lengths)| state.columns = lengths);
    Ok(result)
}

/// The lowest mode of a combination by raw degree of freedom of a mesh whose bars are cut into `parts`, for telling what
/// moves; `None` where none settles.
///
/// # Errors
/// [`CheckError::TooLarge`].
pub fn in_detail(
    analysis: &Analysis<'_>,
    terms: &[(usize, f64)],
    parts: &[usize],
) -> Result<Option<(Mesh, Vec<f64>)>, CheckError> {
    let axial = Axial::new(analysis).combined(terms);
    let made = divided(analysis.frame, &analysis.system.mesh, parts, Stiffness::Buckling, |_| Vec::new())?;
    let Some(Divided { system, within }) = made else { return Ok(None) };
    let pressed = pressed(&within, &axial).into_iter().map(|mean| [Press { mean, half: 0.0 }; 2]).collect();
    let refined = Refined::new(&system, &vec![0; within.len()]);
    let operator = Compression { frame: analysis.frame, refined: &refined, pressed };
    let search = Search::new(&refined, &operator, 1, 4);
    let found = run(&refined, vec![search], 8 * MODES_MAX, WITHIN).map_err(|_| too_large())?;
    let shape = found.first().and_then(|(space, ritz)| {
        let lowest = ritz.first().filter(|lowest| lowest.value > 0.0)?;
        Some(space.raw_of(&lowest.shares))
    });
    Ok(shape.map(|shape| (system.mesh, shape)))
}

/// Buckling factor of an eigenvalue.
fn factor(ritz: Option<&Ritz>) -> f64 {
    match ritz {
        Some(ritz) if ritz.value > 0.0 => 1.0 / ritz.value,
        _ => f64::INFINITY,
    }
}

/// Greatest compression of each plain bar over all combinations.
fn envelope(axial: &Axial, states: &[&[(usize, f64)]]) -> Vec<f64> {
    let mut most = vec![0.0_f64; axial.0.first().map_or(0, Vec::len)];
    for terms in states {
        for (most, [start, end]) in most.iter_mut().zip(axial.combined(terms)) {
            *most = most.max(-start).max(-end);
        }
    }
    most
}

/// P h²/E I of each plain bar at [`SETTLED`] times the envelope.
fn arguments<'a>(plain: &'a Mesh, envelope: &'a [f64]) -> impl Iterator<Item = f64> + 'a {
    plain.elements.iter().zip(envelope).map(|(element, pressed)| {
        let bar = &element.bar;
        SETTLED * pressed * bar.length * bar.length / bar.eiy.min(bar.eiz)
    })
}

/// Parts of each plain bar, so that their cubic shapes are quiet.
fn parts(plain: &Mesh, envelope: &[f64], columns: &Columns) -> Vec<usize> {
    let mut parts: Vec<usize> = arguments(plain, envelope).map(|argument| parts_for(argument, QUIET)).collect();
    columns.parts(plain, &mut parts);
    parts
}

/// Inner shapes of each plain bar, as [`SETTLED`] times the envelope asks for them.
fn inner(plain: &Mesh, envelope: &[f64], columns: &Columns) -> Vec<usize> {
    let count = |argument: f64| match INNER.iter().find(|(most, _)| argument <= *most) {
        _ if argument <= QUIET => 0,
        Some((_, count)) => *count,
        None => INNER_MAX,
    };
    let mut counts: Vec<usize> = arguments(plain, envelope).map(count).collect();
    columns.inner(plain, &mut counts);
    counts
}

/// The space of the envelope's modes with its lowest factor; `None` where nothing moves. The space is a full one only where
/// a combination may come under [`TOLD`], or some member is a column.
fn common_space(
    analysis: &Analysis<'_>,
    refined: &Refined<'_>,
    envelope: &[f64],
    columns: &Columns,
) -> Result<Option<(Space, f64)>, CheckError> {
    let pressed = envelope.iter().map(|mean| [Press { mean: *mean, half: 0.0 }; 2]).collect();
    let operator = Compression { frame: analysis.frame, refined, pressed };
    let search = |block: usize, most: usize, within: f64| -> Result<Option<(Space, f64)>, CheckError> {
        let search = Search::new(refined, &operator, 1, block);
        let found = run(refined, vec![search], most, within).map_err(|_| too_large())?;
        Ok(found.into_iter().next().map(|(space, ritz)| (space, factor(ritz.first()))))
    };
    let quick = if columns.is_empty() { search(2, 12, 1e-3)? } else { None };
    match quick {
        Some((space, lowest)) if lowest >= 1.5 * TOLD => Ok(Some((space, lowest))),
        _ => search(4, most(envelope.len()), 1e-7),
    }
}

/// Most vectors of the common space of a frame with that many bars: its blocks stay under 64 MB.
fn most(bars: usize) -> usize {
    let by_memory = (4_000_000.0 / bars.max(1) as f64).sqrt() as usize;
    by_memory.clamp(8, SPACE_MAX)
}

fn too_large() -> CheckError {
    CheckError::TooLarge { needed_mb: u64::MAX, limit_mb: 0 }
}

/// The level unit direction in which the places move most, by the greater principal axis of their level movements.
pub fn level_direction(shape: &[f64]) -> Vector {
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for place in shape.chunks(6) {
        xx += place[0] * place[0];
        xy += place[0] * place[1];
        yy += place[1] * place[1];
    }
    if xx + yy <= 0.0 {
        return [0.0; 3];
    }
    let angle = 0.5 * (2.0 * xy).atan2(xx - yy);
    [angle.cos(), angle.sin(), 0.0]
}

#[cfg(test)]
mod tests;
