//! Each kind of mistake: where it is said to be, what is underlined, and the words.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    missing_docs,
    reason = "a failed read is a failed test"
)]

mod cuts;
mod members;
mod parts;
mod syntax;
mod to_be_measured;
mod values;

use battenboard_designfile::read_frame;

const BASE: &str = include_str!("../base.toml");

/// The mistakes of the base file after some edits: `line:column [underlined] message (mend)`.
fn said(edits: &[(&str, &str)]) -> Vec<String> {
    let mut text = BASE.to_owned();
    for (from, to) in edits {
        assert!(text.contains(from), "the base file has no {from:?}");
        text = text.replacen(from, to, 1);
    }
    let mistakes = read_frame(&text).err().unwrap_or_default();
    let one = |mistake: battenboard_designfile::Mistake| {
        let under = text.get(mistake.span).unwrap_or("?").replace('\n', " ");
        let mend = mistake.mend.map(|mend| format!(" ({mend})")).unwrap_or_default();
        format!("{}:{} [{under}] {}{mend}", mistake.line, mistake.column, mistake.message)
    };
    mistakes.into_iter().map(one).collect()
}

#[test]
fn the_base_file_has_none() {
    assert_eq!(said(&[]), [] as [&str; 0]);
}

/// The shape that `--json` shows.
#[test]
fn a_mistake_as_json() {
    let mistakes = read_frame(&BASE.replacen("widt", "wid", 1)).unwrap_err();
    assert_eq!(
        serde_json::to_string(&mistakes[0]).unwrap(),
        "{\"line\":10,\"column\":13,\"span\":{\"start\":105,\"end\":109},\"message\":\"`widh` is no key of a section\",\
         \"mend\":\"perhaps `width` was meant\",\"path\":\"stock[0].section.widh\"}"
    );
}
