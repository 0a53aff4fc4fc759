#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]

use super::*;
use crate::output::samples::{self, assert_screen};

#[test]
fn a_bearer_is_explained_from_the_knee_to_the_floor() {
    let (design, findings) = samples::with_results();
    assert_screen("why_bearer", &why(&design, &findings, "B2", 80));
}

#[test]
fn an_anchor_says_its_force_and_its_share() {
    let (design, findings) = samples::with_results();
    assert_screen("why_anchor", &why(&design, &findings, "P1/floor", 80));
}
