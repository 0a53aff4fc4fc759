//! The frame in the end, where its parts creep differently (EN 1995-1-1 2.2.2(2), 2.2.3(3), 2.3.2.2).

use super::mesh::Mesh;
use super::solve::Analysis;
use super::stiffness::{Stiffness, creep};
use crate::design::Grip;

impl Analysis<'_> {
    /// Solves all load cases once more with every part softened by its own creep, where parts creep differently, and
    /// appends them after the cases of the begin, in the same order. True where it did.
    pub fn creep(&mut self, service_class: u8) -> bool {
        if self.crept.is_some() || self.system.order() == 0 || !self.creeps_unevenly(service_class) {
            return false;
        }
        let stiffness = Stiffness::Crept { service_class, psi: 1.0 };
        let Some(end) = self.system.in_state(self.frame, stiffness) else { return false };
        self.solved.extend(end.solve(self.frame, &self.cases));
        let mut again = self.cases.clone();
        again.iter_mut().for_each(|case| case.name.push_str(", in the end"));
        self.cases.extend(again);
        self.crept = Some(end);
        true
    }

    /// Number of load cases of the begin.
    pub fn begun(&self) -> usize {
        if self.crept.is_some() { self.cases.len() / 2 } else { self.cases.len() }
    }

    /// Places, bars and holds a case was solved with.
    pub fn mesh_of(&self, case: usize) -> &Mesh {
        match &self.crept {
            Some(crept) if case >= self.begun() => &crept.mesh,
            _ => &self.system.mesh,
        }
    }

    /// True where computed parts have different creep factors, or joints of timber give like springs.
    fn creeps_unevenly(&self, service_class: u8) -> bool {
        let left_out = &self.system.mesh.left_out;
        let mut factors =
            (0..left_out.len()).filter(|m| !left_out[*m]).map(|m| creep(&self.frame.members[m], service_class));
        let first = factors.next().unwrap_or(0.0);
        let springy = |grips: &[Grip; 6]| grips.iter().any(|g| matches!(g, Grip::Spring(_)));
        // A springy anchor does not creep while the timber does.
        let held = self.frame.joints.iter().map(|j| &j.grips).chain(self.frame.anchors.iter().map(|a| &a.grips));
        factors.any(|f| f != first) || (first > 0.0 && held.into_iter().any(springy))
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed test may panic")]

    use super::*;
    use crate::design::Hold;
    use crate::statics::small_frames::{design, frame, rigid_joint};
    use crate::statics::solve::analyse;

    /// Whether a bearer on a rail is solved again in the end, in service class 2.
    fn again(rail: &str, bearer: &str, springy: bool) -> bool {
        let mut design = design(&[
            ("R", rail, [1_000.0, 0.0, 0.0], [2_000.0, 0.0, 0.0]),
            ("B", bearer, [1_500.0, -400.0, 70.0], [1_500.0, 400.0, 70.0]),
        ]);
        design.joints = vec![rigid_joint("B", "R")];
        if springy {
            design.joints[0].hold = Hold::Given([Grip::Spring(5_000.0); 6]);
        }
        let frame = frame(&design);
        let mut analysis = analyse(&frame, &|| false).unwrap();
        let (begun, made) = (analysis.cases.len(), analysis.creep(2));
        assert_eq!(analysis.cases.len(), if made { 2 * begun } else { begun });
        assert_eq!(analysis.begun(), begun);
        made
    }

    /// Timber of one k_def on rigid joints creeps evenly, with a springy joint it does not (2.13); glued timber creeps as solid
    /// timber does (table 3.2), sheets and steel otherwise; steel alone does not creep, springs or not.
    #[test]
    fn what_creeps_unevenly_is_solved_again() {
        assert!(!again("C24", "GL24h", false) && again("C24", "GL24h", true));
        assert!(again("C24", "sheet", false) && again("S235", "C24", false));
        assert!(!again("S235", "S235", false) && !again("S235", "S235", true));
    }
}
