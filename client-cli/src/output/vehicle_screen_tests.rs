#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]
use super::*;
use crate::output::samples::assert_screen;
use battenboard_engine::design::{Seat, Vehicle};
use battenboard_engine::findings::{AxleLine, LoadState};

const NOW_US: i64 = 1_790_000_000_000_000;

fn survey_of(number: i64, came_with: Option<(String, String)>) -> Survey {
    let figures = Vehicle {
        name: "Curlew".into(),
        survey: u32::try_from(number).unwrap(),
        wheelbase_mm: Some(4035.0),
        gross_limit_kg: Some(3500.0),
        weighed_front_kg: Some(1290.0),
        weighed_rear_kg: Some(1120.0),
        seats: vec![Seat { x_mm: 900.0, y_mm: 400.0, mass_kg: 75.0 }],
        ..Vehicle::default()
    };
    Survey { number, figures, note: "quay, full tank".into(), author: "okoro".into(), at_us: NOW_US, came_with }
}

fn aboard_of(design: &str, survey: i64) -> Aboard {
    Aboard {
        design: design.into(),
        letter: "C".into(),
        issued: survey > 1,
        survey,
        frame_kg: Some(31.4),
        gear_kg: Some(60.0),
        figures_withheld: false,
        not_reckoned: false,
        built_before_survey: survey == 1,
    }
}

fn sum() -> MassSum {
    let line = |state, left| AxleLine {
        state,
        front_kg: 1400.0,
        rear_kg: 1250.0,
        right_minus_left_kg: Some(12.0),
        front_left_kg: Some(left),
        rear_left_kg: Some(1150.0),
        payload_left_kg: Some(850.0),
    };
    MassSum {
        survey: 2,
        frames: vec![aboard_of("curlew-bench", 1), aboard_of("curlew-platform", 2)],
        frames_kg: Some(62.8),
        gear_kg: Some(120.0),
        passengers_kg: Some(75.0),
        weighed_kg: Some(2410.0),
        total_kg: Some(2667.8),
        payload_left_kg: Some(832.2),
        axles: vec![line(LoadState::Empty, 450.0), line(LoadState::Touring, -20.0)],
        gear_named_twice: vec!["dive bottles".into()],
        ..MassSum::default()
    }
}

#[test]
fn a_vehicle_fits_a_screen() {
    let mut sheet = Sheet::new(80);
    let surveys = [survey_of(2, None), survey_of(1, Some(("curlew-platform".into(), "A".into())))];
    vehicle(&mut sheet, "saltmarsh-wheels", "Curlew", &surveys, &TimeZone::UTC);
    sheet.blank();
    aboard(&mut sheet, &sum(), "");
    assert!(sheet.len() <= 24, "{sheet}");
    assert!(sum().is_over(), "an axle is");
    assert_screen("vehicle", &sheet);
}

#[test]
fn what_is_not_summed_says_why() {
    let shown = |sum: &MassSum| {
        let mut sheet = Sheet::new(80);
        aboard(&mut sheet, sum, "Kept from you.");
        sheet.to_string()
    };
    let bare = MassSum { axles: Vec::new(), missing: vec!["wheelbase_mm".into()], ..sum() };
    let said = shown(&bare);
    assert!(said.contains("Axles not checked: the survey lacks wheelbase.") && said.contains("payload"), "{said}");
    let unweighed = MassSum { weighed_kg: None, total_kg: None, payload_left_kg: None, ..bare.clone() };
    assert!(shown(&unweighed).contains("The rest is not checked"), "{}", shown(&unweighed));
    let nothing = MassSum { frames_kg: None, gear_kg: None, passengers_kg: None, total_kg: None, ..bare };
    let mut kept = MassSum { figures_withheld: true, more_frames: true, ..nothing };
    kept.frames[0].not_reckoned = true;
    (kept.frames[1].frame_kg, kept.frames[1].gear_kg) = (None, None);
    let said = shown(&kept);
    for part in ["Kept from you.", "more designs", "curlew-bench can't be reckoned", "Nothing is summed"] {
        assert!(said.contains(part), "{part}: {said}");
    }
    assert!(!said.contains("Axles") && !said.contains("Together"), "{said}");
}

#[test]
fn a_revision_on_an_older_survey_says_so() {
    let drawn = |survey| DrawnOn { survey, latest: 3, latest_us: NOW_US };
    let said = outdated(&drawn(2), &TimeZone::UTC).unwrap();
    assert_eq!(said, "drawn on survey 2; survey 3 of 2026-09-21 is newer");
    assert_eq!(outdated(&drawn(3), &TimeZone::UTC), None);
}
