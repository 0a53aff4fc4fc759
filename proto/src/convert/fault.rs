//! What keeps a frame from being computed.

use super::{
    onwire::{OnWire, chosen, required_value},
    path::Path,
};
use crate::v1::{self, fault};
use battenboard_engine::{
    design::Violation,
    findings::{Fault, Motion},
};

impl OnWire for Fault {
    type Wire = v1::Fault;

    fn to_wire(&self) -> v1::Fault {
        let fault = match self {
            Self::Mechanism { members, motion, direction } => fault::Fault::Mechanism(v1::MechanismFault {
                members: members.clone(),
                motion: motion.to_wire(),
                direction: Some((*direction).into()),
            }),
            Self::NearMechanism { members, motion, direction, frequency_hz, buckling_factor, combination } => {
                fault::Fault::NearMechanism(v1::NearMechanismFault {
                    members: members.clone(),
                    motion: motion.to_wire(),
                    direction: Some((*direction).into()),
                    frequency_hz: *frequency_hz,
                    buckling_factor: *buckling_factor,
                    combination: combination.clone(),
                })
            }
            Self::Disconnected { members } => {
                fault::Fault::Disconnected(v1::DisconnectedFault { members: members.clone() })
            }
            Self::Gap { on, member, gap_mm } => {
                fault::Fault::Gap(v1::GapFault { on: on.clone(), member: member.clone(), gap_mm: *gap_mm })
            }
            Self::Contradiction { anchor } => {
                fault::Fault::Contradiction(v1::ContradictionFault { anchor: anchor.clone() })
            }
            Self::IllConditioned { stiffest, softest, condition } => {
                fault::Fault::IllConditioned(v1::IllConditionedFault {
                    stiffest: stiffest.clone(),
                    softest: softest.clone(),
                    condition: *condition,
                })
            }
        };
        v1::Fault { fault: Some(fault) }
    }

    fn from_wire(wire: v1::Fault, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Fault { fault } = wire;
        Some(match chosen(fault, at, faults)? {
            fault::Fault::Mechanism(v1::MechanismFault { members, motion, direction }) => {
                let at = at.field("mechanism");
                let motion = Motion::from_wire(motion, &at.field("motion"), faults);
                let direction = required_value(direction, &at.field("direction"), faults);
                Self::Mechanism { members, motion: motion?, direction: direction? }
            }
            fault::Fault::NearMechanism(v1::NearMechanismFault {
                members,
                motion,
                direction,
                frequency_hz,
                buckling_factor,
                combination,
            }) => {
                let at = at.field("near_mechanism");
                let motion = Motion::from_wire(motion, &at.field("motion"), faults);
                let direction = required_value(direction, &at.field("direction"), faults);
                Self::NearMechanism {
                    members,
                    motion: motion?,
                    direction: direction?,
                    frequency_hz,
                    buckling_factor,
                    combination,
                }
            }
            fault::Fault::Disconnected(v1::DisconnectedFault { members }) => Self::Disconnected { members },
            fault::Fault::Gap(v1::GapFault { on, member, gap_mm }) => Self::Gap { on, member, gap_mm },
            fault::Fault::Contradiction(v1::ContradictionFault { anchor }) => Self::Contradiction { anchor },
            fault::Fault::IllConditioned(v1::IllConditionedFault { stiffest, softest, condition }) => {
                Self::IllConditioned { stiffest, softest, condition }
            }
        })
    }
}
