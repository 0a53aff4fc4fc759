//! Whether a factor that was found can be the lowest: just under it the frame must stand.
//!
//! A search for eigenvalues may miss one, above all among many alike. Here nothing is searched: K - alpha G has a factor
//! with positive pivots if and only if no way of buckling lies under alpha (Sylvester's law of inertia). The inner
//! shapes of each bar are eliminated first, bar by bar.

use super::super::assemble;
use super::super::inner::{ENDS, Press, Refined};
use super::TOLD;
use crate::design::Frame;

/// Share of a factor that was found at which the frame must still stand.
const UNDER: f64 = 0.995;
/// Local degrees of freedom of a bar's ends in each plane, and their signs there.
const PLANES: [[(usize, f64); ENDS]; 2] =
    [[(1, 1.0), (5, 1.0), (7, 1.0), (11, 1.0)], [(2, 1.0), (4, -1.0), (8, 1.0), (10, -1.0)]];

/// What was found of a combination.
pub(super) struct Claim {
    /// Index of the combination.
    state: usize,
    /// Its compression at both ends of each plain bar, times the factor at which the frame should stand, N.
    pressed: Vec<[f64; 2]>,
    /// That factor.
    level: f64,
}

impl Claim {
    /// That a combination with these axial forces (tension positive) buckles at `factor`, or at none that is told.
    pub(super) fn new(state: usize, axial: &[[f64; 2]], factor: f64) -> Self {
        let level = (UNDER * factor).min(TOLD);
        Self { state, pressed: axial.iter().map(|ends| ends.map(|n| -level * n)).collect(), level }
    }
}

/// Combinations whose factor is not the lowest. All are asked together first, every bar pressed as in the worst of them:
/// a frame that stands under more compression stands under less. Where it does not, each half is asked.
pub(super) fn doubtful(frame: &Frame, refined: &Refined<'_>, mut claims: Vec<Claim>) -> Vec<usize> {
    // Alike ones together.
    claims.sort_by(|a, b| b.level.total_cmp(&a.level));
    let mut found = Vec::new();
    let mut open: Vec<&[Claim]> = vec![&claims];
    while let Some(group) = open.pop() {
        match group {
            [] => {}
            _ if stands(frame, refined, &together(group)) => {}
            [one] => found.push(one.state),
            more => open.extend([more.split_at(more.len() / 2).0, more.split_at(more.len() / 2).1]),
        }
    }
    found.sort_unstable();
    found
}

/// The greatest compression at each bar's ends.
fn together(claims: &[Claim]) -> Vec<Press> {
    let bars = claims.first().map_or(0, |claim| claim.pressed.len());
    let most = |bar: usize, end: usize| claims.iter().map(|c| c.pressed[bar][end]).fold(f64::NEG_INFINITY, f64::max);
    (0..bars).map(|bar| Press::between([-most(bar, 0), -most(bar, 1)])).collect()
}

/// True where K - G of this compression is positive definite.
fn stands(frame: &Frame, refined: &Refined<'_>, pressed: &[Press]) -> bool {
    let taken = refined.bars.iter().zip(pressed).map(|(planes, press)| {
        let [xy, xz] = planes.each_ref().map(|plane| plane.taken(*press));
        Some([xy?, xz?])
    });
    // A bar that buckles between clamped ends needs no frame to do so.
    let Some(taken) = taken.collect::<Option<Vec<_>>>() else { return false };
    let system = refined.system;
    let matrix = assemble::matrix_of(frame, &system.mesh, &system.elimination, |bar, element| {
        let mut local = element.bar.stiffness();
        for (dofs, taken) in PLANES.iter().zip(&taken[bar]) {
            for ((row, sign), taken) in dofs.iter().zip(taken) {
                for ((column, other), taken) in dofs.iter().zip(taken) {
                    local[*row][*column] -= sign * other * taken;
                }
            }
        }
        local
    });
    system.shape.factor(&matrix.scaled(&system.scaling, 0.0)).is_ok()
}

#[cfg(test)]
mod tests;
