//! How far apart a member is held against turning over, for lateral buckling.

use crate::design::frame::FrameMember;
use crate::design::vector::{Triad, dot};
use crate::design::{Frame, Grip};

/// Places of every member at which a joint or anchor holds it, without give, against turning about its own length and
/// against moving along local y and z. A springy hold counts as none.
pub fn upright_places(frame: &Frame) -> Vec<Vec<f64>> {
    let mut places = vec![Vec::new(); frame.members.len()];
    let mut put = |member: usize, at_mm: f64, grips: &[Grip; 6], axes: &Triad| {
        if holds(&frame.members[member], grips, axes) {
            places[member].push(at_mm);
        }
    };
    for joint in &frame.joints {
        put(joint.member, joint.at_mm, &joint.grips, &joint.axes);
        put(joint.on, joint.on_at_mm, &joint.grips, &joint.axes);
    }
    for anchor in &frame.anchors {
        put(anchor.member, anchor.at_mm, &anchor.grips, &anchor.axes);
    }
    for along in &mut places {
        along.sort_by(f64::total_cmp);
    }
    places
}

/// Share of a direction that rigid grips must cover to hold it.
const COVERED: f64 = 0.9;

fn holds(member: &FrameMember, grips: &[Grip; 6], axes: &Triad) -> bool {
    let covered = |direction: usize, first: usize| -> f64 {
        (0..3).filter(|i| grips[first + i] == Grip::Rigid).map(|i| dot(axes[i], member.axes[direction]).powi(2)).sum()
    };
    covered(0, 3) >= COVERED && covered(1, 0) >= COVERED && covered(2, 0) >= COVERED
}

/// Greatest length to reckon with: between neighbouring places, twice what reaches past the outer ones, and twice the
/// whole where nothing holds it (P: a free end may bend sideways as half of a length twice as long).
pub fn upright_length(length_mm: f64, places_mm: &[f64]) -> f64 {
    let (Some(first), Some(last)) = (places_mm.first(), places_mm.last()) else { return 2.0 * length_mm };
    let between = places_mm.windows(2).map(|pair| pair[1] - pair[0]).fold(0.0, f64::max);
    between.max(2.0 * first).max(2.0 * (length_mm - last))
}

#[cfg(test)]
mod tests {
    use super::upright_length;

    #[test]
    fn lengths_by_hand() {
        // Held at both ends: the whole. One end: twice. Overhang of 300 past a span of 500: 600.
        assert_eq!(upright_length(1000.0, &[0.0, 1000.0]), 1000.0);
        assert_eq!(upright_length(1000.0, &[0.0]), 2000.0);
        assert_eq!(upright_length(800.0, &[0.0, 500.0]), 600.0);
        assert_eq!(upright_length(800.0, &[]), 1600.0);
        assert_eq!(upright_length(1000.0, &[0.0, 300.0, 1000.0]), 700.0);
    }
}
