//! Buckling lengths of single members: from the modes they take part in, else from the member alone in the frame.

use super::super::inner::{Press, Refined};
use super::super::krylov::{Equations, Ritz, Search, Space, run};
use super::super::mesh::Mesh;
use super::super::operators::Compression;
use super::super::solve::Analysis;
use super::super::stiffness::Stiffness;
use super::{Axial, MODES_MAX, factor, too_large};
use crate::design::Frame;
use crate::error::CheckError;
use std::f64::consts::PI;

/// Share of its own pinned Euler load under which a member is no column (P).
const CRITICAL: f64 = 0.01;
/// Modes over this factor decide no length, and a member that is in none under it keeps its whole or held length unless
/// that gives it under a quarter of this: what it bears is under a hundredth of what buckles it (P).
const DECIDES: f64 = 100.0;
/// Share of a mode's work from which a member takes part in it (P).
const TAKES_PART: f64 = 0.1;
/// Most members whose own buckling is looked at; further ones keep their whole or held length (P).
const ALONE_MAX: usize = 48;
/// Parts of a lone bar: P h²/E I = 4 pi²/64 when clamped at both ends.
const PARTS_ALONE: usize = 8;
/// Parts of one of a few bars in line.
const PARTS_IN_LINE: usize = 6;
/// Inner shapes of a column's bars: good to 0.001 % when clamped at both ends.
const INNER_COLUMN: usize = 5;
/// Change of an eigenvalue in one round, over itself, at which a lone member's counts as settled: its start is the same
/// however the frame is written, so that the rest is too.
const WITHIN_ALONE: f64 = 1e-8;

/// Buckling lengths of a member in one combination.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Column {
    /// Index of the member.
    pub member: usize,
    /// Its greatest compression, N.
    pub compression_n: f64,
    /// Buckling length for bending about y and about z, mm.
    pub length_mm: [f64; 2],
}

/// A member with the combination that presses it most.
#[derive(Clone, Copy)]
struct Pressed {
    member: usize,
    state: usize,
    compression_n: f64,
}

/// Members that are pressed enough to be columns.
pub(super) struct Columns {
    /// Per combination: member and its greatest compression.
    states: Vec<Vec<(usize, f64)>>,
    /// Such members, each once, in order, with the combination that presses it most: its length there holds for all (P: a
    /// length belongs to the frame and its load; where it is pressed most it decides).
    members: Vec<Pressed>,
    /// E_0,05 I about y and about z, per member, N mm².
    stiffness: Vec<[f64; 2]>,
    /// Length between holds in the depth and the width direction, or the whole, per member.
    held_mm: Vec<[f64; 2]>,
}

/// Buckling lengths of a member as its modes decide them, about y and about z; `None`: it takes part in none.
pub(super) struct Decided {
    /// The combination in which it is decided.
    pub(super) state: usize,
    member: usize,
    length_mm: [Option<f64>; 2],
}

impl Columns {
    pub(super) fn new(analysis: &Analysis<'_>, axial: &Axial, states: &[&[(usize, f64)]]) -> Self {
        let frame = analysis.frame;
        let stiffness: Vec<[f64; 2]> = frame
            .members
            .iter()
            .map(|m| {
                let (e, _) = Stiffness::Buckling.moduli(m);
                [e * m.section.iy_mm4, e * m.section.iz_mm4]
            })
            .collect();
        let stated = frame.design().members.iter().zip(&frame.members);
        let held_mm = stated
            .map(|(m, placed)| [m.held_depth_mm, m.held_width_mm].map(|l| l.unwrap_or(placed.length_mm)))
            .collect();
        let least: Vec<f64> = frame
            .members
            .iter()
            .zip(&stiffness)
            .map(|(m, [y, z])| CRITICAL * PI * PI * y.min(*z) / (m.length_mm * m.length_mm))
            .collect();
        let mesh = &analysis.system.mesh;
        let states: Vec<Vec<(usize, f64)>> = states
            .iter()
            .map(|terms| {
                let mut most = vec![0.0_f64; frame.members.len()];
                for (element, [start, end]) in mesh.elements.iter().zip(axial.combined(terms)) {
                    most[element.member] = most[element.member].max(-start).max(-end);
                }
                (0..most.len()).filter(|m| most[*m] > least[*m]).map(|m| (m, most[m])).collect()
            })
            .collect();
        let mut most: Vec<Option<(usize, f64)>> = vec![None; frame.members.len()];
        for (state, pressed) in states.iter().enumerate() {
            for (member, compression) in pressed {
                let best = &mut most[*member];
                // Equal ones to a hair stay with the first.
                if best.is_none_or(|(_, before)| *compression > before * (1.0 + 1e-9)) {
                    *best = Some((state, *compression));
                }
            }
        }
        let pressed = |(member, best): (usize, &Option<(usize, f64)>)| {
            best.map(|(state, compression_n)| Pressed { member, state, compression_n })
        };
        let members = most.iter().enumerate().filter_map(pressed).collect();
        Self { states, members, stiffness, held_mm }
    }

    /// True where no member is a column in any combination.
    pub(super) fn is_empty(&self) -> bool {
        self.members.is_empty()
    }

    /// Members that are pressed most in a combination, with their compression there.
    fn decided_in(&self, state: usize) -> impl Iterator<Item = (usize, f64)> + '_ {
        let pressed = self.states[state].iter().copied();
        pressed.filter(move |(member, _)| self.members.iter().any(|p| p.member == *member && p.state == state))
    }

    /// True where some member's length is decided in that combination.
    pub(super) fn any(&self, state: usize) -> bool {
        self.decided_in(state).next().is_some()
    }

    /// Gives every combination the lengths of its columns, from those that were decided.
    pub(super) fn spread(&self, decided: &[(usize, [f64; 2])]) -> Vec<Vec<Column>> {
        let one = |(member, compression_n): &(usize, f64)| {
            let length_mm = decided.iter().find(|d| d.0 == *member)?.1;
            Some(Column { member: *member, compression_n: *compression_n, length_mm })
        };
        self.states.iter().map(|pressed| pressed.iter().filter_map(one).collect()).collect()
    }

    /// Gives the bars of columns inner shapes, so that even between clamps they buckle rightly.
    pub(super) fn inner(&self, plain: &Mesh, counts: &mut [usize]) {
        for Pressed { member, .. } in &self.members {
            counts[plain.bars(*member)].iter_mut().for_each(|count| *count = (*count).max(INNER_COLUMN));
        }
    }

    /// Cuts the bars of columns likewise.
    pub(super) fn parts(&self, plain: &Mesh, parts: &mut [usize]) {
        for Pressed { member, .. } in &self.members {
            let bars = plain.bars(*member);
            let least = if bars.len() == 1 { PARTS_ALONE } else { PARTS_IN_LINE };
            parts[bars].iter_mut().for_each(|p| *p = (*p).max(least));
        }
    }

    /// Buckling factor of a member by itself between pins over its whole or held length.
    fn by_itself(&self, pressed: &Pressed, axis: usize) -> f64 {
        let Pressed { member, compression_n, .. } = *pressed;
        PI * PI * self.stiffness[member][axis] / (self.held_mm[member][axis].powi(2) * compression_n)
    }

    /// Buckling lengths of all columns: where no mode decides, the smaller of the held length and that of the member alone
    /// in the frame, everything else unpressed: the frame gives its ends what stiffness it has.
    pub(super) fn all(
        &self,
        frame: &Frame,
        refined: &Refined<'_>,
        decided: Vec<Decided>,
    ) -> Result<Vec<(usize, [f64; 2])>, CheckError> {
        let mesh = &refined.system.mesh;
        let found = |member: usize| decided.iter().find(|d| d.member == member).map_or([None; 2], |d| d.length_mm);
        let mut open = Vec::new();
        for pressed in &self.members {
            let member = pressed.member;
            let undecided =
                |axis: &usize| found(member)[*axis].is_none() && self.by_itself(pressed, *axis) < 0.25 * DECIDES;
            open.extend((0..2).filter(undecided).map(|axis| (member, axis)));
        }
        open.truncate(ALONE_MAX);
        let operators: Vec<Compression<'_>> = open
            .iter()
            .map(|(member, axis)| {
                let one = Press { mean: 1.0, half: 0.0 };
                // About y is bending in the x-z plane.
                let unit = if *axis == 0 { [Press::default(), one] } else { [one, Press::default()] };
                let mut pressed = vec![[Press::default(); 2]; mesh.elements.len()];
                pressed[mesh.bars(*member)].fill(unit);
                Compression { frame, refined, pressed }
            })
            .collect();
        let searches = open.iter().zip(&operators).map(|((member, axis), operator)| {
            Search::from(refined, operator, 1, &[bow(frame, refined, *member, *axis)])
        });
        let alone = run(refined, searches.collect(), 12, WITHIN_ALONE).map_err(|_| too_large())?;
        let loads: Vec<f64> = alone.iter().map(|(_, ritz)| factor(ritz.first())).collect();
        let length = |member: usize, axis: usize| {
            let held = self.held_mm[member][axis];
            let by_itself = open.iter().position(|o| *o == (member, axis)).map_or(0.0, |index| loads[index]);
            if by_itself > 0.0 { held.min(PI * (self.stiffness[member][axis] / by_itself).sqrt()) } else { held }
        };
        let both = |Pressed { member, .. }: &Pressed| {
            let by_mode = found(*member);
            (*member, std::array::from_fn(|axis| by_mode[axis].unwrap_or_else(|| length(*member, axis))))
        };
        Ok(self.members.iter().map(both).collect())
    }

    /// How many of a combination's modes say something of its columns, by their estimates in a space.
    pub(super) fn modes(&self, state: usize, modes: &[Ritz], space: &Space, operator: &Compression<'_>) -> usize {
        // Member and axis that no mode yet says anything of.
        let mut open: Vec<(usize, usize)> =
            self.decided_in(state).flat_map(|(member, _)| [(member, 0), (member, 1)]).collect();
        let mut asked = 0;
        let low = modes.iter().enumerate().take(MODES_MAX).take_while(|(_, mode)| mode.value * DECIDES > 1.0);
        for (index, mode) in low {
            if open.is_empty() {
                break;
            }
            let raw = space.raw_of(&mode.shares);
            let before = open.len();
            open.retain(|(member, axis)| work(operator, *member, &raw)[*axis] < TAKES_PART * mode.value);
            if open.len() < before {
                asked = index + 1;
            }
        }
        asked
    }

    /// Buckling lengths of the members that are decided in a combination, from its settled modes (1/alpha and
    /// displacements).
    pub(super) fn lengths(&self, state: usize, operator: &Compression<'_>, modes: &[(f64, Vec<f64>)]) -> Vec<Decided> {
        let one = |(member, compression_n): (usize, f64)| {
            let works: Vec<[f64; 2]> = modes.iter().map(|(_, raw)| work(operator, member, raw)).collect();
            let length_mm = std::array::from_fn(|axis| {
                let mode = modes.iter().zip(&works).find(|((value, _), work)| work[axis] >= TAKES_PART * *value);
                mode.map(|((value, _), _)| PI * (self.stiffness[member][axis] * value / compression_n).sqrt())
            });
            Decided { state, member, length_mm }
        };
        self.decided_in(state).map(one).collect()
    }
}

/// Work of a member's compression in a mode, for bending about y and about z.
fn work(operator: &Compression<'_>, member: usize, raw: &[f64]) -> [f64; 2] {
    operator.refined.system.mesh.bars(member).fold([0.0; 2], |sum, bar| {
        let [xy, xz] = operator.work_of(bar, raw);
        [sum[0] + xz, sum[1] + xy]
    })
}

/// A half wave of a member about y (0) or z (1), by raw degree of freedom: its places moved across, its bars bent between.
fn bow(frame: &Frame, refined: &Refined<'_>, member: usize, axis: usize) -> Vec<f64> {
    let mesh = &refined.system.mesh;
    let placed = &frame.members[member];
    let mut raw = vec![0.0; refined.raw_count()];
    let (first, last) = mesh.spans[member];
    for place in first..last {
        let turn = PI * mesh.places[place].at_mm / placed.length_mm;
        // Not quite even, so that no mode is at right angles to it.
        let (across, slope) = (turn.sin() + 0.2 * (2.0 * turn).sin(), turn.cos() + 0.4 * (2.0 * turn).cos());
        let (along, about, sign) = if axis == 0 { (2, 1, -1.0) } else { (1, 2, 1.0) };
        for i in 0..3 {
            raw[6 * place + i] = across * placed.axes[along][i];
            raw[6 * place + 3 + i] = sign * slope * PI / placed.length_mm * placed.axes[about][i];
        }
    }
    refined.bend(mesh.bars(member), 1 - axis, &mut raw);
    raw
}

#[cfg(test)]
mod tests;
