//! Contacts by geometry; every figure by hand.

use crate::small::{close, frame, joint, member};
use battenboard_engine::design::touch::{Touch, touch};
use battenboard_engine::design::{Design, Face, Frame, Joint, Notch};

fn of(design: &Design) -> Option<Touch> {
    let frame = Frame::new(design).unwrap_or_else(|violations| panic!("{violations:#?}"));
    let joint = &frame.joints[0];
    let pair = [joint.member, joint.on].map(|index| {
        let placed = &frame.members[index];
        (&frame.design().members[index], placed, &frame.design().stock[placed.stock].section)
    });
    touch(joint, &frame.design().joints[joint.stated], pair)
}

/// A bearer B across a rail R.
fn crossing(z: f64) -> Design {
    let mut design = frame(vec![
        member("R", [0.0, 0.0, 0.0], [2000.0, 0.0, 0.0]),
        member("B", [500.0, -300.0, z], [500.0, 700.0, z]),
    ]);
    design.joints = vec![joint("B", "R")];
    design
}

#[test]
fn a_bearer_across_a_rail() {
    let found = of(&crossing(70.0)).unwrap();
    close(found.normal[2], 1.0, 1e-12);
    let [bearer, rail] = found.parts;
    close(bearer.from_mm, 277.5, 1e-12);
    close(bearer.to_mm, 322.5, 1e-12);
    close(rail.from_mm, 477.5, 1e-12);
    close(rail.length_mm * rail.width_mm, 45.0 * 45.0, 1e-12);
    assert_eq!((bearer.along, rail.along), (0.0, 0.0));
    assert!(bearer.side.is_some_and(|side| side.axis == 2 && !side.positive));
    assert!(rail.side.is_some_and(|side| side.axis == 2 && side.positive));
}

#[test]
fn what_hangs_below_presses_downwards() {
    let found = of(&crossing(-70.0)).unwrap();
    close(found.normal[2], -1.0, 1e-12);
}

#[test]
fn drawn_through_one_another_no_contact_is_known() {
    assert_eq!(of(&crossing(0.0)), None);
    assert_eq!(of(&crossing(60.0)), None);
}

#[test]
fn housed_in_a_notch_it_is_known_again() {
    let mut design = crossing(60.0);
    design.members[0].notches =
        vec![Notch { from_mm: 477.5, to_mm: 522.5, depth_mm: 10.0, face: Face::Upper, slope: 0.0 }];
    let found = of(&design).unwrap();
    close(found.parts[1].length_mm, 45.0, 1e-12);
}

#[test]
fn a_bearer_askew_touches_a_rhomb() {
    // At 60 degrees in plan: 45 x 45/sin 60 of area, 45/sin 60 + 45/tan 60 along either.
    let mut design = crossing(70.0);
    let (dx, dy) = (300.0, 300.0 * 3.0_f64.sqrt());
    design.members[1] = member("B", [1000.0 - dx, -dy, 70.0], [1000.0 + dx, dy, 70.0]);
    let found = of(&design).unwrap();
    let sine = 3.0_f64.sqrt() / 2.0;
    for part in found.parts {
        close(part.length_mm * part.width_mm, 45.0 * 45.0 / sine, 1e-9);
        close(part.length_mm, 45.0 / sine + 45.0 / 3.0_f64.sqrt(), 1e-9);
    }
}

#[test]
fn a_post_under_a_rail_stands_on_end_grain() {
    let mut design = frame(vec![
        member("P", [500.0, 0.0, -435.0], [500.0, 0.0, -35.0]),
        member("R", [0.0, 0.0, 0.0], [2000.0, 0.0, 0.0]),
    ]);
    design.joints = vec![joint("R", "P")];
    let found = of(&design).unwrap();
    let [rail, post] = found.parts;
    close(post.along, 1.0, 1e-12);
    // The post's depth of 70 lies along the rail; the rail is 45 wide as the post is.
    close(rail.length_mm, 70.0, 1e-12);
    close(rail.width_mm, 45.0, 1e-12);
    close(post.length_mm * post.width_mm, 70.0 * 45.0, 1e-12);
}

#[test]
fn a_rail_beside_a_post_touches_sideways() {
    let mut design = frame(vec![
        member("P", [500.0, 0.0, -400.0], [500.0, 0.0, 400.0]),
        member("R", [0.0, 45.0, 0.0], [2000.0, 45.0, 0.0]),
    ]);
    design.joints = vec![joint("R", "P")];
    let found = of(&design).unwrap();
    close(found.normal[1], 1.0, 1e-12);
    assert_eq!(found.parts.map(|part| part.along), [0.0, 0.0]);
}

#[test]
fn a_brace_cut_to_a_rail_is_pressed_at_an_angle() {
    // At 45 degrees: the cut is 70 sqrt 2 long and 45 wide.
    let mut design = frame(vec![
        member("Z", [500.0, 0.0, -535.0], [1000.0, 0.0, -35.0]),
        member("R", [0.0, 0.0, 0.0], [2000.0, 0.0, 0.0]),
    ]);
    design.joints = vec![joint("R", "Z")];
    let found = of(&design).unwrap();
    let [rail, brace] = found.parts;
    close(brace.along, 0.5_f64.sqrt(), 1e-12);
    close(brace.length_mm, 70.0 * 2.0_f64.sqrt(), 1e-9);
    close(rail.length_mm, 70.0 * 2.0_f64.sqrt(), 1e-9);
    close(rail.width_mm, 45.0, 1e-9);
}

#[test]
fn two_posts_end_on_end() {
    let mut design =
        frame(vec![member("P", [0.0, 0.0, 0.0], [0.0, 0.0, 400.0]), member("Q", [0.0, 0.0, 400.0], [0.0, 0.0, 800.0])]);
    design.joints = vec![joint("Q", "P")];
    let found = of(&design).unwrap();
    assert_eq!(found.parts.map(|part| part.along), [1.0, 1.0]);
}

#[test]
fn stated_lengths_stand_in_for_the_sizes() {
    let mut design = crossing(70.0);
    design.joints = vec![Joint { contact_mm: Some([40.0, 30.0]), ..joint("B", "R") }];
    let [bearer, rail] = of(&design).unwrap().parts;
    assert_eq!((bearer.length_mm, bearer.width_mm), (40.0, 30.0));
    assert_eq!((rail.length_mm, rail.width_mm), (30.0, 40.0));
    close(bearer.from_mm, 280.0, 1e-12);
}
