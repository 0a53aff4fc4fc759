//! One member through all load cases, and where it is supported.

use crate::design::Frame;
use crate::statics::recover::{self, Cuts, MemberState};
use crate::statics::Analysis;

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
        let cuts = recover::cuts(&analysis.mesh, &analysis.cases, member);
        let cases = analysis
            .cases
            .iter()
            .zip(&analysis.solved)
            .map(|(case, solved)| {
                let mut state = MemberState::default();
                recover::member(analysis.frame, &analysis.mesh, case, &solved.u, member, &cuts, &mut state);
                state
            })
            .collect();
        Self { cuts, cases }
    }

    /// Sum of cases times factors, into `state`.
    pub fn combine(&self, terms: &[(usize, f64)], state: &mut MemberState) {
        state.reset(&self.cuts);
        for (case, factor) in terms {
            state.add(&self.cases[*case], *factor);
        }
    }
}

/// Places where a member is carried: joints in which it is the carried one, and anchors, in order. A member that is
/// carried nowhere (one of a stiff corner, named as the carrying side) is seen between its outermost joints.
pub fn supports(frame: &Frame, member: usize) -> Vec<f64> {
    let mut places: Vec<f64> = frame
        .joints
        .iter()
        .filter(|j| j.member == member)
        .map(|j| j.at_mm)
        .chain(frame.anchors.iter().filter(|a| a.member == member).map(|a| a.at_mm))
        .collect();
    if places.len() < 2 {
        places.extend(frame.joints.iter().filter(|j| j.on == member).map(|j| j.on_at_mm));
    }
    places.sort_by(f64::total_cmp);
    places.dedup_by(|a, b| (*a - *b).abs() < 1e-6 * frame.members[member].length_mm);
    places
}
