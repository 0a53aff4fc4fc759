#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]

use super::*;
use crate::output::samples::{self, assert_screen};
use battenboard_engine::design::Member;

fn within(sheet: &Sheet) {
    assert!(sheet.len() <= ROWS, "{} rows:\n{sheet}", sheet.len());
    assert!(sheet.lines().iter().all(|line| line.chars().count() <= COLUMNS), "too wide:\n{sheet}");
}

#[test]
fn the_sample_platform_from_above_and_from_the_side() {
    let sheet = drawing(&samples::design(), 80);
    within(&sheet);
    assert_screen("drawing", &sheet);
}

#[test]
fn frames_of_any_shape_stay_within_the_room() {
    for (x, y, z) in [(6000.0, 300.0, 200.0), (300.0, 6000.0, 200.0), (200.0, 300.0, 4000.0), (0.0, 0.0, 1.0)] {
        let member = |tag: &str, to: Vector| Member { tag: tag.into(), to, ..Member::default() };
        let design = Design {
            members: vec![member("A", [x, 0.0, z]), member("B", [0.0, y, z]), member("LONG-TAG.1", [x, y, 0.0])],
            ..Design::default()
        };
        within(&drawing(&design, 80));
    }
}

#[test]
fn a_design_without_members_draws_nothing() {
    assert_eq!(drawing(&Design::default(), 80).to_string(), "(nothing to draw: the design has no members)\n");
}
