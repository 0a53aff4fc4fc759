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
