//! How far two sets of results of one load case are apart.

use crate::read;
use battenboard_engine::findings::StateResults;

/// Greatest differences, by kind.
#[derive(Debug, Default)]
pub struct Difference {
    /// Per kind: difference, size.
    kinds: [(f64, f64); 8],
}

/// Kinds: each is followed by its turning partner.
pub const SLIDE: usize = 0;
pub const FORCE: usize = 2;
pub const JOINT_FORCE: usize = 4;
pub const REACTION_FORCE: usize = 6;

/// Under this (mm, rad, N, N mm) a kind does not occur in a state: what is left is rounding.
const NOTHING: f64 = 1e-12;
/// Arms by which a turn and a displacement, a moment and a force are measured against each other.
const SHORT_MM: f64 = 10.0;
const LONG_MM: f64 = 10_000.0;

impl Difference {
    /// All displacements, section forces, joint forces and reactions that `expected` knows.
    pub fn of(found: &StateResults, expected: &StateResults) -> Self {
        let mut difference = Self::default();
        for member in &expected.members {
            let last = member.places.len() - 1;
            for (index, place) in member.places.iter().enumerate() {
                let other = read::place(found, &member.tag, place.at_mm);
                difference.note(SLIDE, other.displacement, place.displacement);
                if index > 0 {
                    difference.note(FORCE, read::six(other.forces_before), read::six(place.forces_before));
                }
                if index < last {
                    difference.note(FORCE, read::six(other.forces_after), read::six(place.forces_after));
                }
            }
        }
        for joint in &expected.joints {
            difference.note(JOINT_FORCE, read::joint(found, &joint.tag), read::joint(expected, &joint.tag));
        }
        for anchor in &expected.reactions {
            difference.note(REACTION_FORCE, read::reaction(found, &anchor.tag), read::reaction(expected, &anchor.tag));
        }
        difference
    }

    /// Six figures: three of a kind and three of its turning partner.
    pub fn note(&mut self, kind: usize, found: [f64; 6], expected: [f64; 6]) {
        for (number, (found, expected)) in found.into_iter().zip(expected).enumerate() {
            assert!(found.is_finite(), "{found} instead of {expected}");
            let (difference, size) = &mut self.kinds[kind + usize::from(number > 2)];
            *difference = difference.max((found - expected).abs());
            *size = size.max(expected.abs());
        }
    }

    /// The worst kind, displacements measured against the greatest displacement, turns against the greatest turn, forces
    /// and moments against the greatest anywhere. A kind that hardly occurs is measured against what its partner makes
    /// of it over a short arm: what is left of it is rounding of the partner.
    pub fn worst(&self) -> f64 {
        let size = |kinds: &[usize]| kinds.iter().map(|kind| self.kinds[*kind].1).fold(0.0, f64::max);
        let (slide, turn) = (size(&[0]), size(&[1]));
        let (force, moment) = (size(&[2, 4, 6]), size(&[3, 5, 7]));
        let (slide, turn) = (slide.max(SHORT_MM * turn), turn.max(slide / LONG_MM));
        let (force, moment) = (force.max(moment / LONG_MM), moment.max(SHORT_MM * force));
        let sizes = [slide, turn, force, moment, force, moment, force, moment];
        let shares = self.kinds.iter().zip(sizes).map(|((difference, _), size)| difference / size.max(NOTHING));
        shares.fold(0.0, f64::max)
    }
}
