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
    let first = screen(&findings).lines()[..3].join(" ");
    assert_eq!(
        first,
        "Falls short: do not cut or load it like this. Worst is bearer B2: under kneeling at the edge it sags 10 mm; \
         the limit is 8 mm; bending takes 60 % of what it can carry. 31 kg."
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

#[test]
fn sway_hold_downs_and_room_stand_on_the_first_screen() {
    assert_screen("whole_holds", &screen(&samples::of_the_whole(samples::holding().checks)));
}

#[test]
fn where_the_first_screen_is_full_it_says_where_the_whole_is_explained() {
    let mut findings = samples::of_the_whole(samples::short().checks);
    let mend = findings.checks[0].mend.clone();
    for check in &mut findings.checks {
        check.mend = mend.clone();
        check.combination = "kneeling at the edge, with gear on the racks; own weight at its least, twice over".into();
    }
    let sheet = screen(&findings);
    assert!(sheet.lines().iter().any(|line| line.contains("batten why design")), "{sheet}");
}

#[test]
fn a_frame_whose_sway_governs_is_said_to_be_the_whole() {
    let mut sway = samples::check(whole::TAG, "", CheckKind::Frequency, 0.0, 1.25);
    (sway.demand, sway.resistance, sway.combination) = (3.0, 2.4, String::new());
    let findings = samples::findings(vec![sway]);
    assert_screen("whole_sways", &screen(&findings));
}

#[test]
fn what_can_nearly_move_is_said_before_the_figures() {
    let mut findings = samples::holding();
    findings.verdict = Verdict::NotChecked;
    findings.faults = vec![Fault::NearMechanism {
        members: ["P1", "P2", "P3", "P4", "RL", "RR"].map(Into::into).to_vec(),
        motion: battenboard_engine::findings::Motion::Fold,
        direction: [1.0, 0.0, 0.0],
        frequency_hz: Some(0.62),
        buckling_factor: None,
        combination: String::new(),
    }];
    assert_screen("nearly_moves", &screen(&findings));
}

fn open(tag: &str, what: &str) -> Assumption {
    Assumption { code: AssumptionCode::ToBeMeasured, about: vec![tag.into(), what.into()], value: None }
}

#[test]
fn what_is_still_to_be_measured_comes_before_what_is_assumed() {
    let mut findings = samples::holding();
    findings.assumptions.splice(
        0..0,
        [open("B3", "wall to wheel arch"), open("", "how thick the floor will be"), open("vehicle", "height inside")],
    );
    assert_screen("to_be_measured", &screen(&findings));
}

#[test]
fn long_words_of_what_is_to_be_measured_leave_room_for_the_rest() {
    let mut findings = samples::short();
    findings.assumptions.splice(0..0, [open("B3", &"wall to arch ".repeat(15)), open("RL", &"ü".repeat(100))]);
    let text = screen(&findings).to_string().split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("To be measured: B3, wall to arch wall") && text.contains(" ...; RL, üüü"), "{text}");
    assert!(text.contains("Assumed: 45x70 C16"), "{text}");
}
