#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]

use super::*;
use crate::output::samples::{self, assert_screen};
use battenboard_engine::findings::Fault;

fn screen(findings: &Findings) -> Sheet {
    let sheet = first_screen(&samples::design(), findings, 80);
    assert!(sheet.len() <= MOST_LINES, "{} lines do not fit on the first screen:\n{sheet}", sheet.len());
    sheet
}

#[test]
fn a_frame_that_holds() {
    assert_screen("holds", &screen(&samples::holding()));
}

#[test]
fn a_frame_that_falls_short_says_where_why_and_what_mends_it() {
    assert_screen("falls_short", &screen(&samples::short()));
}

#[test]
fn a_sag_that_governs_is_said_as_a_sag() {
    let worst = samples::check("B2", "bearer", CheckKind::SagInstant, 640.0, 1.3);
    let findings = samples::findings(vec![worst, samples::check("B2", "bearer", CheckKind::Bending, 640.0, 0.6)]);
    let first = screen(&findings).lines()[..2].join(" ");
    assert_eq!(
        first,
        "Falls short. Worst is bearer B2: under kneeling at the edge it sags 10 mm; the limit is 8 mm; bending takes \
         60 % of what it can carry. 31 kg."
    );
}

#[test]
fn a_fault_comes_before_every_figure() {
    let mut findings = samples::holding();
    findings.verdict = Verdict::NotChecked;
    findings.faults = vec![
        Fault::Gap { on: "RL".into(), member: "B2".into(), gap_mm: 40.0 },
        Fault::Disconnected { members: vec!["B2".into()] },
    ];
    assert_screen("fault", &screen(&findings));
}

#[test]
fn an_axle_that_is_over_is_said() {
    let mut findings = samples::holding();
    findings.weight.axles[0].rear_left_kg = Some(-35.0);
    assert!(weight_sentence(&findings).contains("the rear axle is 35\u{a0}kg over"));
}
