//! Clear distances between contacts, by hand.

use super::{Stretch, gaps};
use crate::design::touch::SideFace;

const LOWER: Option<SideFace> = Some(SideFace { axis: 2, positive: false });
const UPPER: Option<SideFace> = Some(SideFace { axis: 2, positive: true });

fn stretch(side: Option<SideFace>, from_mm: f64, to_mm: f64) -> Stretch {
    Stretch { side, from_mm, to_mm }
}

#[test]
fn the_next_on_the_same_face_and_the_nearest_on_any() {
    // In no order: lower 0-45 and 900-945, upper 100-138 and 930-968, one of unknown face at 500.
    let found = gaps(&[
        stretch(LOWER, 900.0, 945.0),
        stretch(UPPER, 100.0, 138.0),
        stretch(LOWER, 0.0, 45.0),
        stretch(None, 500.0, 500.0),
        stretch(UPPER, 930.0, 968.0),
    ]);
    assert_eq!(found[2].same_face, [None, Some(455.0)]);
    assert_eq!(found[2].nearest, Some(55.0));
    assert_eq!(found[0].same_face, [Some(400.0), None]);
    // The upper one overlaps it.
    assert_eq!(found[0].nearest, Some(0.0));
    assert_eq!(found[1].same_face, [None, Some(362.0)]);
    assert_eq!(found[4].same_face, [Some(430.0), None]);
}

#[test]
fn a_contact_alone_has_no_next() {
    let found = gaps(&[stretch(LOWER, 10.0, 20.0)]);
    assert_eq!((found[0].same_face, found[0].nearest), ([None; 2], None));
}

#[test]
fn a_longer_contact_reaches_past_a_shorter_one() {
    // 0-100 lies before 20-40 by its end, though its middle lies behind.
    let found = gaps(&[stretch(LOWER, 0.0, 100.0), stretch(LOWER, 20.0, 40.0), stretch(LOWER, 300.0, 320.0)]);
    assert_eq!(found[2].same_face, [Some(200.0), None]);
    assert_eq!(found[1].same_face[1], Some(0.0));
}
