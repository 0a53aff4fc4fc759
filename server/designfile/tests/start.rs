//! The starter files: they read, nothing in them can move, and they stay short.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    missing_docs,
    reason = "a failed read is a failed test"
)]

use battenboard_designfile::{StartAnswers, StartKind, read_frame, template};
use battenboard_engine::design::Frame;
use battenboard_engine::findings::Verdict;
use battenboard_engine::{Ask, check};
use proptest::prelude::*;

fn answers(kind: StartKind, length_mm: f64, width_mm: f64, bay_height_mm: f64, sleepers: u32) -> StartAnswers {
    StartAnswers {
        name: "curlew-platform".into(),
        title: "A \"first\" try".into(),
        kind,
        length_mm,
        width_mm,
        bay_height_mm,
        timber_mm: (45.0, 70.0),
        sleepers,
        material: "C16".into(),
    }
}

fn frame(answers: &StartAnswers) -> Frame {
    let text = template(answers);
    read_frame(&text).unwrap_or_else(|mistakes| panic!("{mistakes:#?}\n{text}")).1
}

fn usual() -> [StartAnswers; 4] {
    [
        answers(StartKind::Platform, 2000.0, 1400.0, 450.0, 2),
        answers(StartKind::Settle, 1900.0, 600.0, 350.0, 1),
        answers(StartKind::Mezzanine, 1300.0, 2000.0, 1200.0, 2),
        answers(StartKind::Mezzanine, 2100.0, 1400.0, 1200.0, 2),
    ]
}

#[test]
fn the_usual_ones_read_and_nothing_can_move() {
    for answers in usual() {
        let frame = frame(&answers);
        assert!(frame.gaps.is_empty(), "{:?}", frame.gaps);
        let findings = check(&frame, Ask::default(), &|| false).unwrap();
        assert!(findings.faults.is_empty(), "{:?}: {:?}", answers.kind, findings.faults);
    }
}

/// The answers `batten start --yes` gives: a builder's first screen says that it holds.
#[test]
fn the_usual_answers_hold() {
    for (kind, measures, timber_mm, sleepers) in [
        (StartKind::Platform, [2000.0, 1200.0, 450.0], (45.0, 70.0), 2),
        (StartKind::Settle, [1900.0, 650.0, 350.0], (45.0, 70.0), 1),
        (StartKind::Mezzanine, [2000.0, 1400.0, 1100.0], (45.0, 95.0), 2),
    ] {
        let [length, width, bay] = measures;
        let answers = StartAnswers { timber_mm, ..answers(kind, length, width, bay, sleepers) };
        let findings = check(&frame(&answers), Ask::default(), &|| false).unwrap();
        let worst = &findings.checks[0];
        assert!(matches!(findings.verdict, Verdict::Holds | Verdict::Near), "{kind:?}: {worst:?}");
    }
}

/// A wider berth of the same timber falls short, and the file's deeper size mends it.
#[test]
fn where_it_falls_short_the_deeper_size_mends_it() {
    let frame = frame(&answers(StartKind::Platform, 2000.0, 1500.0, 450.0, 2));
    let findings = check(&frame, Ask { mends: true, ..Ask::default() }, &|| false).unwrap();
    assert_eq!(findings.verdict, Verdict::FallsShort);
    let mend = findings.checks[0].mend.as_ref().expect("a mend is found");
    assert_eq!((mend.from_stock.as_str(), mend.to_stock.as_str()), ("45x70", "45x95"));
}

/// That the first test could fail: without what holds it upright each of them can move.
#[test]
fn without_the_body_they_would_lean_over() {
    for answers in usual() {
        let mut design = frame(&answers).design().clone();
        design.anchors.retain(|anchor| anchor.to == "floor");
        let frame = Frame::new(&design).unwrap();
        let findings = check(&frame, Ask::default(), &|| false).unwrap();
        assert!(!findings.faults.is_empty(), "{:?}", answers.kind);
    }
}

#[test]
fn they_are_short_and_commented() {
    for answers in usual() {
        let text = template(&answers);
        let (lines, comments) =
            (text.lines().count(), text.lines().filter(|line| line.trim_start().starts_with('#')).count());
        assert!((70..=100).contains(&lines), "{lines} lines");
        assert!(comments >= 20, "{comments} comments");
        assert!(text.lines().all(|line| line.chars().count() <= 160), "{text}");
        assert!(text.contains("ASSUMED"));
    }
}

#[test]
fn who_does_not_fit_is_not_drawn() {
    let lying = |answers: &StartAnswers| {
        let frame = frame(answers);
        frame
            .design()
            .people
            .iter()
            .filter(|people| people.name.contains("asleep"))
            .map(|people| people.at_mm.len())
            .sum::<usize>()
    };
    assert_eq!(lying(&answers(StartKind::Platform, 2000.0, 1400.0, 450.0, 0)), 0);
    assert_eq!(lying(&answers(StartKind::Platform, 2000.0, 1400.0, 450.0, 5)), 3);
    assert_eq!(lying(&answers(StartKind::Platform, 1500.0, 1400.0, 450.0, 2)), 0);
    assert_eq!(lying(&answers(StartKind::Platform, 1000.0, 1900.0, 450.0, 2)), 2);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 100, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_sensible_answer_reads(
        kind in prop::sample::select(vec![StartKind::Platform, StartKind::Settle, StartKind::Mezzanine]),
        length in 400.0..4000.0f64, width in 400.0..2400.0f64, bay in 100.0..1800.0f64,
        timber in (20.0..100.0f64, 30.0..150.0f64), sleepers in 0u32..6,
    ) {
        let answers = StartAnswers { timber_mm: timber, ..answers(kind, length, width, bay, sleepers) };
        let frame = frame(&answers);
        prop_assert!(frame.gaps.is_empty(), "{:?}", frame.gaps);
    }
}
