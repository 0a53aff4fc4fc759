//! The way of a load through the frame in one combination: from what presses, member by member, to the vehicle.
//!
//! Built from the joints' and anchors' forces of the findings; at each step the way of the greatest downward force is
//! followed. What a member gets from decks, its own weight and given loads is what its joints leave over.

use super::places;
use battenboard_engine::design::{Design, anchor_tags};
use battenboard_engine::findings::{PointForces, StateResults};

/// One step: force is handed to `to` at the joint or anchor `at`.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// Member, or what an anchor is fixed to.
    pub to: String,
    /// True when `to` is the vehicle and the way ends.
    pub vehicle: bool,
    /// Joint or anchor.
    pub at: String,
    /// Downward force there, N.
    pub force_n: f64,
    /// Downward force that goes other ways from the member before, N.
    pub elsewhere_n: f64,
}

/// The way through one member.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LoadPath {
    /// From the uppermost member down to the asked one (exclusive): its tag and what it hands on, N.
    pub above: Vec<Step>,
    /// The uppermost member of the way.
    pub top: String,
    /// Load of the uppermost member from decks, its own weight and given loads, N.
    pub top_load_n: f64,
    /// From the asked member down to the vehicle.
    pub below: Vec<Step>,
}

/// Longest way that is followed; a frame that is deeper than this is shown in part.
const MOST_STEPS: usize = 16;

/// The first that none is greater than by more than a hair: rounding does not choose between the sides of a frame.
pub fn first_greatest<T>(items: impl Iterator<Item = T>, size: impl Fn(&T) -> f64) -> Option<T> {
    items.reduce(|best, item| if size(&item) > size(&best) * (1.0 + 1e-6) { item } else { best })
}

/// Follows the load through `tag` in that state.
pub fn load_path(design: &Design, state: &StateResults, tag: &str) -> LoadPath {
    let frame = Joined { design, state, anchor_tags: anchor_tags(design) };
    let mut above = Vec::new();
    let mut top = tag.to_owned();
    let mut seen = vec![tag.to_owned()];
    while above.len() < MOST_STEPS {
        let links = frame.links(&top);
        let pressing = links.iter().filter(|link| link.up_n < 0.0 && !link.vehicle && !seen.contains(&link.other));
        let Some(most) = first_greatest(pressing, |link| -link.up_n) else { break };
        if -most.up_n <= frame.own_load(&links) {
            break;
        }
        above.push(Step {
            to: top.clone(),
            vehicle: false,
            at: most.at.clone(),
            force_n: -most.up_n,
            elsewhere_n: frame.held(&most.other) + most.up_n,
        });
        top.clone_from(&most.other);
        seen.push(top.clone());
    }
    above.reverse();
    let top_load_n = frame.own_load(&frame.links(&top));
    LoadPath { above, top, top_load_n, below: frame.downwards(tag) }
}

/// A design with the forces of one state.
struct Joined<'d> {
    design: &'d Design,
    state: &'d StateResults,
    anchor_tags: Vec<String>,
}

/// What a member meets at one joint or anchor.
struct Link {
    other: String,
    vehicle: bool,
    at: String,
    /// Upward force on the member there, N; negative: the other one presses on it.
    up_n: f64,
}

impl Joined<'_> {
    fn links(&self, tag: &str) -> Vec<Link> {
        let joints = self.design.joints.iter().filter_map(|joint| {
            let (other, sign) = match tag {
                tag if tag == joint.member => (&joint.on, 1.0),
                tag if tag == joint.on => (&joint.member, -1.0),
                _ => return None,
            };
            let at = places::joint_tag(joint);
            let up_n = sign * vertical(&self.state.joints, &at)?;
            Some(Link { other: other.clone(), vehicle: false, at, up_n })
        });
        let anchors = self.design.anchors.iter().zip(&self.anchor_tags).filter(|(anchor, _)| anchor.member == tag);
        let anchors = anchors.filter_map(|(anchor, at)| {
            let up_n = vertical(&self.state.reactions, at)?;
            Some(Link { other: anchor.to.clone(), vehicle: true, at: at.clone(), up_n })
        });
        joints.chain(anchors).collect()
    }

    /// Sum of the upward forces that hold a member, N.
    fn held(&self, tag: &str) -> f64 {
        self.links(tag).iter().map(|link| link.up_n.max(0.0)).sum()
    }

    /// What the joints leave over: decks, own weight, given loads, N downwards.
    fn own_load(&self, links: &[Link]) -> f64 {
        links.iter().map(|link| link.up_n).sum()
    }

    fn downwards(&self, tag: &str) -> Vec<Step> {
        let mut steps: Vec<Step> = Vec::new();
        let mut at_member = tag.to_owned();
        let mut seen = vec![tag.to_owned()];
        while steps.len() < MOST_STEPS {
            let links = self.links(&at_member);
            let held = self.held(&at_member);
            let carrying = links.into_iter().filter(|link| link.up_n > 0.0 && !seen.contains(&link.other));
            let Some(most) = first_greatest(carrying, |link| link.up_n) else { break };
            let Link { other, vehicle, at, up_n } = most;
            steps.push(Step { to: other.clone(), vehicle, at, force_n: up_n, elsewhere_n: held - up_n });
            if vehicle {
                break;
            }
            seen.push(other.clone());
            at_member = other;
        }
        steps
    }
}

/// Vertical force at a joint or anchor, N, as the findings give it: on the carried member, or on the frame.
fn vertical(forces: &[PointForces], tag: &str) -> Option<f64> {
    // An anchor or joint tag may stand for several places: their sum is what goes that way.
    let mut found = forces.iter().filter(|point| point.tag == tag).peekable();
    found.peek()?;
    Some(found.map(|point| point.force_n[2]).sum())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::samples;
    use battenboard_engine::design::{Anchor, Joint};

    fn point(tag: &str, up_n: f64) -> PointForces {
        PointForces { tag: tag.into(), force_n: [0.0, 0.0, up_n], ..PointForces::default() }
    }

    fn joint(member: &str, on: &str) -> Joint {
        Joint { member: member.into(), on: on.into(), ..Joint::default() }
    }

    #[test]
    fn the_way_goes_from_bearer_to_rail_to_post_to_floor() {
        let mut design = samples::design();
        design.joints = vec![joint("B2", "RL"), joint("B2", "RR"), joint("RL", "P1"), joint("RL", "P2")];
        design.anchors = vec![Anchor { member: "P1".into(), to: "floor".into(), ..Anchor::default() }];
        let state = StateResults {
            name: "kneeling at the edge".into(),
            combined: true,
            joints: vec![point("RL/B2", 900.0), point("RR/B2", 300.0), point("P1/RL", 500.0), point("P2/RL", 480.0)],
            reactions: vec![point("P1/floor", 510.0)],
            ..StateResults::default()
        };
        let path = load_path(&design, &state, "B2");
        assert_eq!((path.top.as_str(), path.top_load_n), ("B2", 1200.0));
        let way: Vec<(&str, f64, f64)> =
            path.below.iter().map(|step| (step.to.as_str(), step.force_n, step.elsewhere_n)).collect();
        assert_eq!(way, [("RL", 900.0, 300.0), ("P1", 500.0, 480.0), ("floor", 510.0, 0.0)]);
        let rail = load_path(&design, &state, "RL");
        assert_eq!((rail.top.as_str(), rail.above.len()), ("B2", 1));
        assert_eq!(rail.above[0].force_n, 900.0);
    }
}
