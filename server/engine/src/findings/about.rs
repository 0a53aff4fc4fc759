//! What a fault is about.

use super::Fault;

impl Fault {
    /// Tags of what it is about, as stated.
    pub fn tags(&self) -> Vec<String> {
        match self {
            Self::Mechanism { members, .. } | Self::NearMechanism { members, .. } | Self::Disconnected { members } => {
                members.clone()
            }
            Self::Gap { on, member, .. } => vec![on.clone(), member.clone()],
            Self::Contradiction { anchor } => vec![anchor.clone()],
            Self::IllConditioned { stiffest, softest, .. } => vec![stiffest.clone(), softest.clone()],
        }
    }
}
