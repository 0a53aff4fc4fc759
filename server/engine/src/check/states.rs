//! One member through all load cases, and where it is supported.

use crate::design::Frame;
use crate::findings::LimitState;
use crate::statics::Analysis;
use crate::statics::line::Piece;
use crate::statics::recover::{self, Cuts, MemberState};

/// A member's pieces in every load case.
pub struct MemberStates {
    /// Where it is cut.
    pub cuts: Cuts,
    /// Its state per load case.
    pub cases: Vec<MemberState>,
}

impl MemberStates {
    /// Recovers a member in all cases.
    pub fn recover(analysis: &Analysis<'_>, member: usize) -> Self {
        let cuts = recover::cuts(&analysis.system.mesh, &analysis.cases, member);
        let cases = analysis
            .cases
            .iter()
            .zip(&analysis.solved)
            .enumerate()
            .map(|(index, (case, solved))| {
                let mut state = MemberState::default();
                recover::member(analysis.frame, analysis.mesh_of(index), case, &solved.u, member, &cuts, &mut state);
                state
            })
            .collect();
        Self { cuts, cases }
    }

    /// Pieces of a sum of cases times factors, into `pieces`; for strength without displacements, which nobody reads.
    pub fn combine_pieces(&self, terms: &[(usize, f64)], limit_state: LimitState, pieces: &mut Vec<Piece>) {
        pieces.clear();
        pieces.extend(self.cuts.at_mm.windows(2).map(|w| Piece { from_mm: w[0], to_mm: w[1], ..Piece::default() }));
        for (case, factor) in terms {
            let more = self.cases[*case].pieces.iter();
            match limit_state {
                LimitState::Strength => pieces.iter_mut().zip(more).for_each(|(p, m)| p.add_forces(m, *factor)),
                LimitState::SagInstant | LimitState::SagFinal => {
                    pieces.iter_mut().zip(more).for_each(|(p, m)| p.add(m, *factor));
                }
            }
        }
    }

    /// Sum of cases times factors, into `state`.
    pub fn combine(&self, terms: &[(usize, f64)], state: &mut MemberState) {
        state.reset(&self.cuts);
        for (case, factor) in terms {
            state.add(&self.cases[*case], *factor);
        }
    }
}

/// Per member the places where it is carried: joints in which it is the carried one, and anchors, in order. A member
/// that is carried nowhere (one of a stiff corner, named as the carrying side) is seen between its outermost joints.
pub fn supports(frame: &Frame) -> Vec<Vec<f64>> {
    let mut carried = vec![Vec::new(); frame.members.len()];
    let mut carrying = vec![Vec::new(); frame.members.len()];
    for joint in &frame.joints {
        carried[joint.member].push(joint.at_mm);
        carrying[joint.on].push(joint.on_at_mm);
    }
    for anchor in &frame.anchors {
        carried[anchor.member].push(anchor.at_mm);
    }
    for ((places, others), member) in carried.iter_mut().zip(&carrying).zip(&frame.members) {
        if places.len() < 2 {
            places.extend(others);
        }
        places.sort_by(f64::total_cmp);
        places.dedup_by(|a, b| (*a - *b).abs() < 1e-6 * member.length_mm);
    }
    carried
}
