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
