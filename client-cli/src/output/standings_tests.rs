#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]

//! Every way a remark can stand, in words.

use super::*;
use crate::remark::RemarkKind;

fn remark(number: i64, what: StandingKind, tag: &str, since: &str) -> Remark {
    let standing = Standing {
        what,
        tag: tag.into(),
        at_mm: None,
        since: since.into(),
        pieces: Vec::new(),
        there_now: None,
        renamed_from: None,
        gone_since: None,
        as_of: "F".into(),
    };
    Remark {
        number,
        letter: "B".into(),
        tag: Some("M4".into()),
        at_mm: None,
        kind: RemarkKind::Snag,
        text: "springy".into(),
        author: "okoro".into(),
        at_us: 1_790_000_000_000_000,
        state: RemarkState::Open,
        entries: Vec::new(),
        from_outside: false,
        standing: Some(standing),
        proof: None,
    }
}

fn with(mut remark: Remark, edit: impl FnOnce(&mut Standing)) -> String {
    remark.standing.as_mut().map(edit);
    sentence(&remark).unwrap()
}

#[test]
fn every_standing_is_a_plain_sentence() {
    use StandingKind::{AsItWas, Back, Changed, Gone, Moved, Renamed, Split};
    let plain = |what, tag, since| with(remark(1, what, tag, since), |_| ());
    assert_eq!(plain(AsItWas, "M4", "B"), "M4 stands as it was.");
    assert_eq!(plain(Changed, "M4", "C"), "M4 was changed in C.");
    assert_eq!(plain(Changed, "B7", "D"), "B7 (then M4) was changed in D.");
    assert_eq!(plain(Moved, "M4", "C"), "M4 was moved in C.");
    let moved = with(remark(1, Moved, "M4", "C"), |standing| standing.there_now = Some("M9".into()));
    assert_eq!(moved, "M4 was moved in C; M9 lies where it lay.");
    let renamed = with(remark(1, Renamed, "B7", "D"), |standing| standing.renamed_from = Some("M4".into()));
    assert_eq!(renamed, "M4 is now called B7 (since D).");
    let twice = with(remark(1, Renamed, "B7", "D"), |standing| {
        (standing.renamed_from, standing.at_mm) = (Some("K1".into()), Some(640.0));
    });
    assert_eq!(twice, "M4 is now called B7 (since D, before that K1), 640\u{a0}mm from its marked end.");
    let cut = with(remark(1, Split, "B7", "D"), |standing| standing.pieces = vec!["B7".into(), "B8".into()]);
    assert_eq!(cut, "M4 was cut up in D: this is on B7, of B7 and B8.");
    let instead = with(remark(1, Split, "B7", "D"), |standing| standing.pieces = vec!["B7".into()]);
    assert_eq!(instead, "M4 gave way to B7 in D, which lies where it lay.");
    assert_eq!(plain(Gone, "M4", "D"), "M4 is gone since revision D.");
    let back = with(remark(1, Back, "M4", "F"), |standing| standing.gone_since = Some("D".into()));
    assert_eq!(back, "M4 is back since F, gone in D.");
}

#[test]
fn nothing_is_said_where_nothing_could_happen() {
    let mut made_here = remark(1, StandingKind::AsItWas, "M4", "B");
    made_here.letter = "F".into();
    assert_eq!(sentence(&made_here), None);
    let whole = Remark { tag: None, ..remark(1, StandingKind::AsItWas, "", "B") };
    assert_eq!(sentence(&whole), None);
    assert_eq!(sentence(&Remark { standing: None, ..whole }), None);
}

#[test]
fn a_remark_on_an_older_revision_is_told_of_the_newer() {
    let said = newer(&remark(1, StandingKind::AsItWas, "M4", "B"), "F");
    assert_eq!(said, "You remarked on B; F is newer: there, M4 stands as it was.");
}

#[test]
fn a_submit_tells_which_open_remarks_it_touched() {
    let mut cleared = remark(9, StandingKind::Changed, "M4", "F");
    cleared.state = RemarkState::Cleared;
    let remarks = [
        remark(7, StandingKind::Gone, "M2", "F"),
        remark(3, StandingKind::Moved, "M4", "F"),
        remark(4, StandingKind::Moved, "M5", "E"),
        remark(5, StandingKind::AsItWas, "M6", "B"),
        cleared.clone(),
    ];
    let said = touched(&remarks, "F");
    let wanted = "2 of 4 open remarks are on what this revision changed: 3 (M4 moved), 7 (M2 gone).";
    assert_eq!(said.as_deref(), Some(wanted));
    assert_eq!(touched(&remarks, "D"), None);
    assert_eq!(touched(&[cleared], "F"), None);
    let one = touched(&remarks[..1], "F");
    assert_eq!(one.as_deref(), Some("The open remark is on what this revision changed: 7 (M2 gone)."));
    let many: Vec<Remark> = (1..30).map(|n| remark(n, StandingKind::Changed, "M4", "F")).collect();
    assert!(touched(&many, "F").unwrap().contains("8 (M4 changed), and 21 more: batten remarks --open"));
}

#[test]
fn a_remark_is_on_what_it_is_on_now() {
    let renamed = remark(1, StandingKind::Renamed, "B7", "D");
    assert!(renamed.is_on("B7") && !renamed.is_on("M4"));
    assert!(!remark(1, StandingKind::Gone, "M4", "D").is_on("M4"));
    assert!(Remark { standing: None, ..renamed }.is_on("M4"));
}

#[test]
fn remarks_kept_by_an_older_command_are_read() {
    let old = r#"{"number":1,"letter":"B","tag":"M4","at_mm":null,"kind":"snag","text":"springy","author":"okoro",
        "at_us":1790000000000000,"state":"open","entries":[]}"#;
    let read: Remark = serde_json::from_str(old).unwrap();
    assert_eq!(read, Remark { standing: None, ..remark(1, StandingKind::AsItWas, "M4", "B") });
}
