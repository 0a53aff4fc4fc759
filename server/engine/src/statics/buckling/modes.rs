//! Modes of single combinations: settled from their estimates in the common space, or searched anew; how they move.

use super::super::inner::Refined;
use super::super::krylov::{Ritz, Search, Space, run};
use super::super::operators::Compression;
use super::super::solve::Analysis;
use super::columns::{Columns, Decided};
use super::{Buckled, MODES_MAX, SWAY_LOOKED_AT, WITHIN, factor, level_direction, too_large};
use crate::design::vector::{norm, scale, sub};
use crate::error::CheckError;

/// Vectors at a time of a search that begins anew.
const BLOCK_ANEW: usize = 4;
/// Share of an eigenvalue from which the next ones are close to it, and how many of them are taken along.
const CLOSE: f64 = 0.8;
const CLOSE_MAX: usize = 4;
/// Share of a mode's work in leaning chords over which the frame sways in it (P).
const SWAYS: f64 = 0.1;
/// Most members named for a mode.
const NAMED: usize = 4;

/// A combination of which modes are to be settled.
pub(super) struct Asked<'a> {
    pub(super) state: usize,
    pub(super) modes: usize,
    pub(super) operator: Compression<'a>,
}

/// The common space with each combination's estimates in it.
pub(super) struct Estimated<'a> {
    pub(super) space: &'a Space,
    pub(super) ritz: &'a [Vec<Ritz>],
}

/// Settles the modes that are asked for, each combination by itself, from their estimates in the common space, and says
/// how the lowest moves and what its modes decide of columns.
pub(super) fn settle(
    analysis: &Analysis<'_>,
    refined: &Refined<'_>,
    Estimated { space, ritz }: &Estimated<'_>,
    asked: &[Asked<'_>],
    columns: &Columns,
    results: &mut [Buckled],
) -> Result<Vec<Decided>, CheckError> {
    let searches = asked.iter().map(|asked| {
        // Modes that lie close (the left and the right of a frame) only settle together.
        let estimates = &ritz[asked.state];
        let close = estimates[asked.modes - 1].value * CLOSE;
        let more = estimates[asked.modes..].iter().take(CLOSE_MAX).take_while(|mode| mode.value > close).count();
        let starts: Vec<_> = estimates[..asked.modes + more].iter().map(|r| space.raw_of(&r.shares)).collect();
        Search::from(refined, &asked.operator, asked.modes, &starts)
    });
    let found = run(refined, searches.collect(), 8 * MODES_MAX, WITHIN).map_err(|_| too_large())?;
    let mut decided: Vec<Decided> = Vec::new();
    for (asked, (own, modes)) in asked.iter().zip(found) {
        let modes = settled(asked, &own, &modes);
        let result = &mut results[asked.state];
        decided.extend(columns.lengths(asked.state, &asked.operator, &modes));
        // A further mode that sways counts too where it is low.
        let further = ritz[asked.state].iter().skip(1).take_while(|mode| factor(Some(mode)) < SWAY_LOOKED_AT);
        tell(analysis, &asked.operator, &modes, further.map(|mode| space.raw_of(&mode.shares)), result);
    }
    Ok(decided)
}

/// The same for combinations of which the common space held too little: from spread-out displacements.
pub(super) fn search_anew(
    analysis: &Analysis<'_>,
    refined: &Refined<'_>,
    asked: &[Asked<'_>],
    columns: &Columns,
    results: &mut [Buckled],
) -> Result<Vec<Decided>, CheckError> {
    let mut decided: Vec<Decided> = Vec::new();
    // One after another: there may be many, and each keeps its space.
    for asked in asked {
        let search = Search::new(refined, &asked.operator, asked.modes, BLOCK_ANEW);
        let found = run(refined, vec![search], 8 * MODES_MAX, WITHIN).map_err(|_| too_large())?;
        for (own, ritz) in found {
            let modes = settled(asked, &own, &ritz);
            decided.extend(columns.lengths(asked.state, &asked.operator, &modes));
            let further = ritz.iter().skip(1).take_while(|mode| factor(Some(mode)) < SWAY_LOOKED_AT);
            let further = further.map(|mode| own.raw_of(&mode.shares));
            tell(analysis, &asked.operator, &modes, further, &mut results[asked.state]);
        }
    }
    Ok(decided)
}

/// The modes that were asked for, as 1/alpha and displacements.
fn settled(asked: &Asked<'_>, own: &Space, modes: &[Ritz]) -> Vec<(f64, Vec<f64>)> {
    let positive = modes.iter().take(asked.modes).filter(|mode| mode.value > 0.0);
    positive.map(|mode| (mode.value, own.raw_of(&mode.shares))).collect()
}

/// Says how the lowest mode moves, and whether it or a further one sways.
fn tell(
    analysis: &Analysis<'_>,
    operator: &Compression<'_>,
    modes: &[(f64, Vec<f64>)],
    mut further: impl Iterator<Item = Vec<f64>>,
    result: &mut Buckled,
) {
    let Some((value, shape)) = modes.first() else { return };
    result.factor = 1.0 / value;
    result.members = taking_part(analysis, operator, shape);
    result.direction = level_direction(&shape[..operator.refined.system.mesh.raw_count()]);
    result.sways =
        leaning(analysis, operator, shape) > SWAYS || further.any(|raw| leaning(analysis, operator, &raw) > SWAYS);
}

/// Members by their share of a mode's work, the most important first.
pub(super) fn taking_part(analysis: &Analysis<'_>, operator: &Compression<'_>, shape: &[f64]) -> Vec<usize> {
    let mut work = vec![0.0; analysis.frame.members.len()];
    for (element, [y, z]) in operator.refined.system.mesh.elements.iter().zip(operator.work(shape)) {
        work[element.member] += y + z;
    }
    let whole: f64 = work.iter().sum();
    let mut order: Vec<usize> = (0..work.len()).filter(|m| work[*m] > 0.05 * whole).collect();
    order.sort_by(|a, b| work[*b].total_cmp(&work[*a]).then(a.cmp(b)));
    order.truncate(NAMED);
    order
}

/// Share of a mode's work that the compression does on the chords of the members: 0 where they only bow between ends that
/// stay, 1 where straight members lean.
pub(super) fn leaning(analysis: &Analysis<'_>, operator: &Compression<'_>, shape: &[f64]) -> f64 {
    let mesh = &operator.refined.system.mesh;
    let whole: f64 = operator.work(shape).iter().flatten().sum();
    let mut chords = 0.0;
    for (member, (first, last)) in mesh.spans.iter().enumerate().filter(|(_, (first, last))| last > first) {
        let at = |place: usize| [shape[6 * place], shape[6 * place + 1], shape[6 * place + 2]];
        let moved = sub(at(last - 1), at(*first));
        let axis = analysis.frame.members[member].axes[0];
        let along: f64 = (0..3).map(|i| moved[i] * axis[i]).sum();
        let across = norm(sub(moved, scale(axis, along)));
        let length = mesh.places[last - 1].at_mm - mesh.places[*first].at_mm;
        let bars = mesh.bars(member);
        let bars = mesh.elements[bars.clone()].iter().zip(&operator.pressed[bars]);
        let pressed: f64 = bars.map(|(element, pressed)| pressed[0].mean * element.bar.length).sum::<f64>() / length;
        chords += pressed * across * across / length;
    }
    if whole > 0.0 { chords / whole } else { 0.0 }
}
