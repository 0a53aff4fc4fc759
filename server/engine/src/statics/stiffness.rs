//! How stiff the parts are taken in each state (EN 1995-1-1 2.2.2, 2.2.3, 2.3.2.2, 2.4.1).

use crate::design::frame::{FrameJoint, FrameMaterial, FrameMember};
use crate::design::{Frame, Grip};
use crate::tables::factors::{Product, gamma_m, k_def};
use crate::tables::panel;
use crate::tables::timber::TimberClass;

/// A state of stiffness.
///
/// Springs that a design states are taken as stated in every state (P: the builder's number is no K_ser of the
/// tables, so it is not turned into K_u), but for the end of life, where joints of timber are softer by 1 + 2 k_def.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Stiffness {
    /// E_mean: forces, and sag at once (2.2.2(1), 2.2.3(2)).
    #[default]
    Mean,
    /// E_mean/(1 + psi k_def): in the end under an action of that psi_2; 1 for permanent loads (2.7 to 2.12).
    Crept {
        /// Service class.
        service_class: u8,
        /// Share of creep.
        psi: f64,
    },
    /// E_mean/gamma_M: second order (2.15, 2.16).
    SecondOrder,
    /// E_0,05, G_0,05: buckling.
    Buckling,
}

impl Stiffness {
    /// Modulus of elasticity along a member and its shear modulus, N/mm².
    pub fn moduli(self, member: &FrameMember) -> (f64, f64) {
        let (e, g) = (member.e_n_mm2, member.g_n_mm2);
        let by = |factor: f64| (e * factor, g * factor);
        match self {
            Self::Mean => (e, g),
            Self::Crept { service_class, psi } => by(1.0 / (1.0 + psi * creep(member, service_class))),
            Self::SecondOrder => match member.material {
                FrameMaterial::Timber(class) => by(1.0 / gamma_m(class.family.into())),
                FrameMaterial::Panel(_) => by(1.0 / gamma_m(Product::Plywood)),
                FrameMaterial::Metal(_) | FrameMaterial::Given => (e, g),
            },
            Self::Buckling => match member.material {
                FrameMaterial::Timber(TimberClass { e_0_05, g_05, .. }) => (*e_0_05, *g_05),
                FrameMaterial::Panel(_) => by(panel::FIFTH),
                FrameMaterial::Metal(_) | FrameMaterial::Given => (e, g),
            },
        }
    }

    /// The grip of a joint in this state.
    pub fn joint(self, frame: &Frame, joint: &FrameJoint, grip: Grip) -> Grip {
        let (Self::Crept { service_class, psi }, Grip::Spring(stiffness)) = (self, grip) else { return grip };
        let one = creep(&frame.members[joint.member], service_class);
        let other = creep(&frame.members[joint.on], service_class);
        // (2.13): parts that creep differently count with twice their geometric mean; beside metal the timber's own (P).
        let both = if one * other > 0.0 { 2.0 * (one * other).sqrt() } else { one + other };
        Grip::Spring(stiffness / (1.0 + psi * both))
    }
}

/// k_def of a member in a service class: 0 for metal; stuff given by its stiffness alone is taken as solid timber (P).
pub fn creep(member: &FrameMember, service_class: u8) -> f64 {
    match member.material {
        FrameMaterial::Timber(timber) => k_def(timber.family.into(), service_class),
        FrameMaterial::Panel(_) => k_def(Product::Plywood, service_class),
        FrameMaterial::Metal(_) => 0.0,
        FrameMaterial::Given => k_def(Product::Solid, service_class),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::statics::small_frames::crossing;

    fn near(one: f64, other: f64) -> bool {
        (one - other).abs() < 1e-9 * other.abs()
    }

    /// E_mean/(1 + psi k_def) and E_mean/gamma_M (EN 1995-1-1 2.3.2.2(2), 2.2.2(1)): k_def 0.6, 0.8, 2.0 of solid timber and
    /// glulam, 0.8, 1.0, 2.5 of plywood (table 3.2), gamma_M 1.3, 1.25, 1.2 (table 2.3); metal neither creeps nor is reduced.
    #[test]
    fn moduli_in_each_state() {
        let frames = [crossing("C24", "GL24h"), crossing("sheet", "S235"), crossing("given", "C24")];
        let member = |f: usize, m: usize| &frames[f].members[m];
        let cases = [
            (member(0, 0), [0.6, 0.8, 2.0], 1.3),
            (member(0, 1), [0.6, 0.8, 2.0], 1.25),
            (member(1, 0), [0.8, 1.0, 2.5], 1.2),
            (member(1, 1), [0.0; 3], 1.0),
            (member(2, 0), [0.6, 0.8, 2.0], 1.0),
        ];
        for (member, k_def, gamma) in cases {
            let (e, g) = Stiffness::Mean.moduli(member);
            assert!(e > g && g > 0.0);
            let by = |state: Stiffness, factor: f64| {
                let found = state.moduli(member);
                assert!(near(found.0, e * factor) && near(found.1, g * factor), "{state:?} {:?}", member.material);
            };
            by(Stiffness::SecondOrder, 1.0 / gamma);
            for (class, k_def) in [1, 2, 3].into_iter().zip(k_def) {
                by(Stiffness::Crept { service_class: class, psi: 1.0 }, 1.0 / (1.0 + k_def));
                by(Stiffness::Crept { service_class: class, psi: 0.3 }, 1.0 / (1.0 + 0.3 * k_def));
            }
        }
        assert_eq!(Stiffness::Mean.moduli(member(0, 0)), (11_000.0, 690.0));
        assert_eq!(Stiffness::Buckling.moduli(member(0, 0)).0, 7_400.0);
        assert_eq!(Stiffness::Buckling.moduli(member(1, 1)), Stiffness::Mean.moduli(member(1, 1)));
    }

    /// K/(1 + psi 2 k_def) between like parts, 2 sqrt(k_def,1 k_def,2) between unlike ones (2.13, EN 1995-1-1 2.3.2.2(4));
    /// beside metal the timber's own k_def once (P). Service class 2: solid timber 0.8, plywood 1.0, metal 0.
    #[test]
    fn springs_of_timber_are_softer_in_the_end() {
        let cases = [
            ("C24", "GL24h", 1.6),
            ("C24", "sheet", 2.0 * 0.8_f64.sqrt()),
            ("sheet", "sheet", 2.0),
            ("C24", "S235", 0.8),
            ("S235", "C24", 0.8),
            ("S235", "S235", 0.0),
        ];
        for (rail, bearer, creep) in cases {
            let frame = crossing(rail, bearer);
            for psi in [0.0, 0.3, 1.0] {
                let state = Stiffness::Crept { service_class: 2, psi };
                let Grip::Spring(found) = state.joint(&frame, &frame.joints[0], Grip::Spring(5_000.0)) else {
                    unreachable!("a spring stays a spring")
                };
                assert!(near(found, 5_000.0 / (1.0 + psi * creep)), "{rail} {bearer} {psi}");
                assert_eq!(state.joint(&frame, &frame.joints[0], Grip::Rigid), Grip::Rigid);
            }
        }
    }
}
