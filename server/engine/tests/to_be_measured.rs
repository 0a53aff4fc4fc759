//! What is to be measured, through the door and into the findings.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    missing_docs,
    reason = "a failed step is a failed test"
)]

use battenboard_engine::design::canonical::{canonical_text, content_id, from_canonical};
use battenboard_engine::design::{Design, Frame, ToBeMeasured};
use battenboard_engine::findings::{Assumption, AssumptionCode};
use battenboard_engine::{Ask, check};

/// The kept body of the first release: every kind of part is in it.
const BODY_1: &str = include_str!("fixtures/body_1.txt");

fn design(entries: &[(&str, &str)]) -> Design {
    let mut design = from_canonical(BODY_1).unwrap();
    // Its odd title and figures are there to be written; no frame has them.
    design.title = "Two lengthwise berths on trestles".into();
    for member in &mut design.members {
        (member.sag_limit_mm, member.up) = (None, None);
    }
    with(design, entries)
}

fn with(mut design: Design, entries: &[(&str, &str)]) -> Design {
    design.to_be_measured =
        entries.iter().map(|(tag, what)| ToBeMeasured { tag: (*tag).into(), what: (*what).into() }).collect();
    design
}

/// `path: message (mend)` of each violation.
fn said(entries: &[(&str, &str)]) -> Vec<String> {
    Frame::new(&design(entries)).err().unwrap_or_default().iter().map(ToString::to_string).collect()
}

#[test]
fn anything_that_is_there_may_be_named() {
    let names = ["RL", "B3", "D1", "RL/B1", "H/top", "P1/floor", "RL/rib@0", "45x70", "slotted 40", "vehicle", ""];
    let entries: Vec<(&str, &str)> = names.iter().map(|name| (*name, "a length")).collect();
    assert_eq!(said(&entries), [] as [&str; 0]);
    assert_eq!(said(&[("B3", "a length"), ("B3", "another")]), [] as [&str; 0]);
    assert_eq!(said(&[("B3", &"ü".repeat(100))]), [] as [&str; 0]);
}

#[test]
fn each_fault_is_said_at_its_place() {
    assert_eq!(
        said(&[("B33", "a length"), ("B3", ""), ("B3", " "), ("B3", &"ü".repeat(101)), ("B3", "a\u{7}b")]),
        [
            "to_be_measured[0].tag: no member, joint, anchor, deck or stock is called `B33` (did you mean `B3`?)".to_owned(),
            "to_be_measured[1].what: it is not said what is to be measured (say it in a few words, such as `wall to wheel arch`)".to_owned(),
            "to_be_measured[2].what: it is not said what is to be measured (say it in a few words, such as `wall to wheel arch`)".to_owned(),
            format!("to_be_measured[3].what: longer than 200 bytes: `{}...` (say it in a few words)", "ü".repeat(40)),
            "to_be_measured[4].what: has a control character: `ab`".to_owned(),
        ]
    );
    assert_eq!(
        said(&[("somewhere else", "a length")]),
        [
            "to_be_measured[0].tag: no member, joint, anchor, deck or stock is called `somewhere else` (name one of them or `vehicle`; name nothing for the whole)"
        ]
    );
    assert_eq!(
        said(&[("B3", "a length"), ("", "a length"), ("B3", "a length"), ("B3", "a length")]),
        [2, 3].map(|index| format!(
            "to_be_measured[{index}].tag: `B3: a length` stands twice, first in to_be_measured[0] (say it once)"
        ))
    );
}

#[test]
fn there_are_not_too_many() {
    let texts: Vec<String> = (0..65).map(|number| format!("no. {number}")).collect();
    let entries: Vec<(&str, &str)> = texts.iter().map(|text| ("B3", text.as_str())).collect();
    assert_eq!(said(&entries[..64]), [] as [&str; 0]);
    assert_eq!(said(&entries), ["to_be_measured: 65 to_be_measured, at most 64 are taken"]);
}

#[test]
fn it_stands_first_of_all_that_is_assumed_and_changes_no_figure() {
    let entries = [("vehicle", "height inside"), ("B3", "wall to wheel arch")];
    let found =
        |entries: &[(&str, &str)]| check(&Frame::new(&design(entries)).unwrap(), Ask::default(), &|| false).unwrap();
    let (with, without) = (found(&entries), found(&[]));
    let expected = entries.map(|(tag, what)| Assumption {
        code: AssumptionCode::ToBeMeasured,
        about: vec![tag.into(), what.into()],
        value: None,
    });
    assert_eq!(with.assumptions[..2], expected);
    assert_eq!(with.assumptions[2..], without.assumptions[..]);
    assert_eq!((&with.checks, &with.weight, with.verdict), (&without.checks, &without.weight, without.verdict));
}

#[test]
fn a_design_without_it_keeps_its_id_and_one_with_it_reads_back() {
    let body = || from_canonical(BODY_1).unwrap();
    assert_eq!(canonical_text(&with(body(), &[])), BODY_1);
    let with = with(body(), &[("B3", "wall to wheel arch")]);
    assert_ne!(content_id(&with), content_id(&body()));
    let text = canonical_text(&with);
    assert!(text.contains(r#""to_be_measured":[{"tag":"B3","what":"wall to wheel arch"}]"#), "{text}");
    assert_eq!(from_canonical(&text).unwrap(), with);
}
