use super::*;
use crate::output::sheet::wrap;

/// The words of the project's table of words, written out by hand.
const TABLE: &[&str] = &[
    "design",
    "vehicle",
    "revision",
    "drawn after",
    "worked from",
    "build group",
    "crew",
    "keeper",
    "builder",
    "reviewer",
    "onlooker",
    "host",
    "member",
    "kind of a member",
    "rail",
    "bearer",
    "post",
    "batten",
    "slat",
    "brace",
    "noggin",
    "edge",
    "ledger",
    "stock",
    "joint",
    "fixing",
    "anchor",
    "restraint",
    "deck",
    "stowage",
    "clear space",
    "load case",
    "combination",
    "utilisation",
    "verdict",
    "holds",
    "near",
    "falls short",
    "not checked",
    "weight table",
    "notice",
    "noticeboard",
    "take up",
    "hand back",
    "remark",
    "snag",
    "advice",
    "question",
    "well made",
    "proof load",
    "answer",
    "clear",
    "raise again",
    "disposition",
    "back-check",
    "to be measured",
    "concession",
    "issued for cutting",
    "superseded",
    "as-built",
    "assumptions list",
    "living",
    "travelling",
    "load state",
    "empty",
    "touring",
    "drawing",
    "cut list",
    "cutting plan",
    "drilling schedule",
    "fixing schedule",
    "purchase list",
    "slimming",
    "news",
    "listen",
];

#[test]
fn every_word_of_the_table_is_explained() {
    let missing: Vec<&&str> = TABLE.iter().filter(|word| find(word).is_none()).collect();
    assert!(missing.is_empty(), "not explained: {missing:?}");
}

#[test]
fn no_explanation_is_longer_than_three_lines() {
    for term in TERMS {
        let lines = wrap(term.text, 78);
        assert!(lines.len() <= 3, "{}: {} lines", term.name, lines.len());
    }
}

#[test]
fn no_name_leads_to_two_terms() {
    let mut seen: Vec<String> = names().map(plain).collect();
    let count = seen.len();
    seen.sort();
    seen.dedup();
    assert_eq!(seen.len(), count);
}
