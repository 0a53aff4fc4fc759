//! Further places within bars, so that second order and the telling of a buckling mode are exact to 0.1 %.
//!
//! One bar's cubic shape misses a buckling load by 0.00123 (P h²/E I)² (from the series of the exact functions; two bars
//! in a pinned column: P h²/E I = pi²/4, 0.75 %). Bars are cut until the argument is small for the mode that was found.

use super::mesh::{Mesh, Plan};
use super::stiffness::Stiffness;
use super::system::{Parts, PartsError, System};
use crate::design::Frame;
use crate::error::CheckError;

/// Most parts a bar is cut into.
pub const PARTS_MAX: usize = 16;

/// A frame cut further, in a state of stiffness, with the way back to its plain bars.
pub struct Divided {
    /// Its equations.
    pub system: System,
    /// Per bar: the plain bar it lies in, and where its middle lies in that, 0 to 1.
    pub within: Vec<(usize, f64)>,
}

/// Parts of each plain bar written as further places of the members, mm from their starts.
fn places(plain: &Mesh, members: usize, parts: &[usize]) -> Vec<Vec<f64>> {
    let mut further = vec![Vec::new(); members];
    for (element, count) in plain.elements.iter().zip(parts) {
        let (from, to) = (plain.places[element.start].at_mm, plain.places[element.start + 1].at_mm);
        let step = (to - from) / *count as f64;
        further[element.member].extend((1..*count).map(|k| from + k as f64 * step));
    }
    further
}

/// Per bar of a finer mesh the plain bar it lies in.
fn within(plain: &Mesh, fine: &Mesh) -> Vec<(usize, f64)> {
    let mut first = 0;
    let mut list = Vec::with_capacity(fine.elements.len());
    for element in &fine.elements {
        let middle = 0.5 * (fine.places[element.start].at_mm + fine.places[element.start + 1].at_mm);
        let ends = |index: usize| {
            let bar = &plain.elements[index];
            (bar.member, plain.places[bar.start].at_mm, plain.places[bar.start + 1].at_mm)
        };
        // Both lists run member by member and along each member.
        while first + 1 < plain.elements.len() && (ends(first).0 < element.member || ends(first).2 < middle) {
            first += 1;
        }
        let (_, from, to) = ends(first);
        list.push((first, ((middle - from) / (to - from)).clamp(0.0, 1.0)));
    }
    list
}

/// The equations of a frame whose plain bars are cut into `parts` each; `None` where it can move in this state.
///
/// # Errors
/// [`CheckError::TooLarge`] when memory runs out.
pub fn divided(
    frame: &Frame,
    plain: &Mesh,
    parts: &[usize],
    stiffness: Stiffness,
    compression: impl FnOnce(&[(usize, f64)]) -> Vec<f64>,
) -> Result<Option<Divided>, CheckError> {
    let further = places(plain, frame.members.len(), parts);
    let mesh = Mesh::new(frame, &Plan { left_out: &plain.left_out, further: &further, stiffness });
    let within = within(plain, &mesh);
    let pressed = compression(&within);
    let equations = match Parts::pressed(frame, mesh, &pressed) {
        Ok(equations) => equations,
        Err(PartsError::Contradiction { .. }) => return Ok(None),
        Err(PartsError::OutOfMemory) => return Err(CheckError::TooLarge { needed_mb: u64::MAX, limit_mb: 0 }),
    };
    match equations.factor() {
        Ok(factor) => Ok(Some(Divided { system: equations.with(factor), within })),
        Err(_) => Ok(None),
    }
}

/// Parts a bar needs so that `argument` (P h²/E I) falls under `quiet`.
pub fn parts_for(argument: f64, quiet: f64) -> usize {
    let parts = (argument / quiet).max(1.0).sqrt().ceil();
    // A value over every limit is cut as finely as any.
    if parts < PARTS_MAX as f64 { parts as usize } else { PARTS_MAX }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::statics::small_frames::{anchor, crossing, design, frame};

    /// Equal parts of each plain bar, by hand: a rail of 1000 cut at its middle by a bearer, the bearer of 800 by the rail.
    #[test]
    fn bars_are_cut_into_equal_parts() {
        let frame = crossing("C24", "C24");
        let plain = Mesh::new(&frame, &Plan::plain(&[false, false]));
        let further = places(&plain, 2, &[1, 4, 2, 5]);
        assert_eq!(further[0], [625.0, 750.0, 875.0]);
        assert_eq!(further[1], [200.0, 480.0, 560.0, 640.0, 720.0]);
    }

    /// The k-th of `count` parts has its middle at (k + 1/2) / count of its plain bar, by hand.
    #[test]
    fn parts_know_the_bar_they_lie_in() {
        let frame = crossing("C24", "C24");
        let plain = Mesh::new(&frame, &Plan::plain(&[false, false]));
        for parts in [[1, 4, 2, 5], [3, 1, 1, 1], [1, 1, 1, 1], [2, 3, 16, 7]] {
            let further = places(&plain, 2, &parts);
            let plan = Plan { left_out: &plain.left_out, further: &further, stiffness: Stiffness::Mean };
            let found = within(&plain, &Mesh::new(&frame, &plan));
            let wanted: Vec<(usize, f64)> = (0..4)
                .flat_map(|bar| (0..parts[bar]).map(move |k| (bar, (k as f64 + 0.5) / parts[bar] as f64)))
                .collect();
            assert_eq!(found.len(), wanted.len());
            for ((bar, at), (wanted_bar, wanted_at)) in found.iter().zip(&wanted) {
                assert_eq!(bar, wanted_bar);
                assert!((at - wanted_at).abs() < 1e-12, "{at} {wanted_at}");
            }
        }
    }

    /// Members that have a single bar each are told apart although their places have the same measures.
    #[test]
    fn the_next_member_begins_anew() {
        let mut design = design(&[
            ("A", "C24", [0.0, 0.0, 0.0], [1_000.0, 0.0, 0.0]),
            ("B", "C24", [0.0, 500.0, 0.0], [1_000.0, 500.0, 0.0]),
        ]);
        design.anchors.push(anchor("B", 0.0, crate::design::Hold::Rigid));
        let frame = frame(&design);
        let plain = Mesh::new(&frame, &Plan::plain(&[false, false]));
        assert_eq!(within(&plain, &plain), [(0, 0.5), (1, 0.5)]);
    }

    /// The argument goes with the square of the length: four times over the limit wants two parts, a hair more three.
    #[test]
    fn parts_go_with_the_root() {
        let parts = [0.0, 0.5, 1.0, 1.01, 4.0, 4.01, 225.0, 226.0, 1e9, f64::INFINITY].map(|a| parts_for(0.1 * a, 0.1));
        assert_eq!(parts, [1, 1, 1, 2, 2, 3, 15, 16, 16, 16]);
    }
}
