#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]

use super::*;
use clap::CommandFactory;

fn parse(line: &str) -> Result<CommandLine, clap::Error> {
    CommandLine::try_parse_from(std::iter::once("batten").chain(line.split_whitespace()))
}

#[test]
fn the_command_is_sound() {
    CommandLine::command().debug_assert();
}

#[test]
fn every_verb_of_this_part_is_there_and_none_of_the_forbidden() {
    let command = CommandLine::command();
    let verbs: Vec<&str> = command.get_subcommands().map(clap::Command::get_name).collect();
    let wanted = [
        "start",
        "check",
        "why",
        "try",
        "join",
        "sign-up",
        "sign-in",
        "sign-out",
        "account",
        "found-group",
        "let-in",
        "enter",
        "crew",
        "designs",
        "submit",
        "revisions",
        "compare",
        "fetch-file",
        "remark",
        "proof-load",
        "remarks",
        "answer",
        "clear",
        "raise-again",
        "set-aside",
        "ask",
        "notices",
        "take-up",
        "hand-back",
        "take-down",
        "end-look",
        "record",
        "show-to",
        "looked-at",
        "conclude",
        "review",
        "own-sums",
        "issue-for-cutting",
        "take-back",
        "concede",
        "concessions",
        "as-built",
        "as-builts",
        "vehicles",
        "vehicle",
        "survey",
        "news",
        "listen",
        "words",
        "completions",
        "pages",
    ];
    assert_eq!(verbs, wanted);
    for word in ["init", "add", "push", "pull", "clone", "branch", "fork", "merge", "diff", "log", "status", "issue"] {
        assert!(!verbs.contains(&word), "`{word}` is not one of our words");
    }
}

#[test]
fn the_help_of_every_verb_fits_80_columns() {
    let mut command = CommandLine::command();
    command.build();
    for verb in std::iter::once(&command).chain(command.get_subcommands()) {
        let text = verb.clone().render_long_help().to_string();
        for line in text.lines() {
            // Usage lines are not wrapped by the library; a long one is accepted there only.
            assert!(line.chars().count() <= 80 || line.contains("Usage:"), "{}: too wide: {line}", verb.get_name());
        }
    }
}

#[test]
fn flags_may_stand_before_or_after_the_verb() {
    let line = parse("check --file curlew.toml --json").unwrap();
    assert_eq!(line.file.unwrap().to_str(), Some("curlew.toml"));
    assert!(line.json);
    assert!(parse("--json check").unwrap().json);
    assert!(parse("").unwrap().verb.is_none());
}

#[test]
fn a_password_is_never_an_argument() {
    assert!(parse("sign-in ines --password secret").is_err());
    assert!(parse("sign-in ines secret").is_err());
    assert!(parse("sign-in ines --password-file -").is_ok());
}

#[test]
fn a_remark_has_one_of_four_kinds() {
    for kind in ["snag", "advice", "question", "well-made"] {
        assert!(parse(&format!("remark B3 loose --kind {kind}")).is_ok(), "{kind}");
    }
    assert!(parse("remark B3 loose --kind bug").is_err());
}
