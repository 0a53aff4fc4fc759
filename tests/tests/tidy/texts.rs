//! Names at the top, lengths of files, words and paths that must not stand in the tree.

use super::sources::{files_under, none, rust_under, top};
use std::fs;

/// Everything at the top but dot files and the build folder.
const TOP_LEVEL: [&str; 11] = [
    "Cargo.lock",
    "Cargo.toml",
    "DEVELOPERS.md",
    "LICENSE",
    "README.md",
    "client-cli",
    "migrations",
    "proto",
    "rust-toolchain.toml",
    "server",
    "tests",
];

/// Words of source-code hosting, chat and answer sites: never a command of ours, nor a method.
const NEVER: [&str; 14] = [
    "init", "add", "commit", "push", "pull", "clone", "branch", "fork", "merge", "diff", "log", "status", "issue",
    "thread",
];

#[test]
fn the_top_level_is_exactly_what_it_should_be() {
    let mut found: Vec<String> = fs::read_dir(top())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .filter(|name| !name.starts_with('.') && name != "target")
        .collect();
    found.sort();
    assert_eq!(found, TOP_LEVEL);
}

#[test]
fn files_stay_short() {
    let mut offences = Vec::new();
    for file in rust_under("") {
        let lines = file.text.lines().count();
        if lines > 600 {
            offences.push(format!("{} has {lines} lines", file.path));
        } else if lines > 400 {
            // Shown by `--nocapture`: worth a second look for two rooms in one.
            eprintln!("note: {} has {lines} lines", file.path);
        }
    }
    none("at most 600 lines a file, mostly under 400", offences);
}

#[test]
fn modules_are_named_after_their_file() {
    let offences = rust_under("").into_iter().filter(|file| file.path.ends_with("/mod.rs")).map(|file| file.path);
    none("`foo.rs` beside `foo/`, never `mod.rs`", offences.collect());
}

#[test]
fn no_path_of_a_machine_and_nothing_unfinished_stands_in_the_tree() {
    // Put together here, so that this file does not hold what it looks for.
    let slash = "/";
    let paths: Vec<String> =
        ["work", "root", "home", "tmp"].iter().map(|name| format!("{slash}{name}{slash}")).collect();
    let unfinished =
        [["todo", "!("].concat(), ["unimplemented", "!("].concat(), ["#[ig", "nore"].concat(), ["FIX", "ME"].concat()];
    let mut offences = Vec::new();
    for file in files_under("").iter().filter(|file| file.path != "Cargo.lock") {
        for (index, line) in file.text.lines().enumerate() {
            for word in paths.iter().chain(&unfinished) {
                if line.contains(word.as_str()) {
                    offences.push(format!("{}:{}: {word}", file.path, index + 1));
                }
            }
        }
    }
    none("paths of a machine, unfinished places", offences);
}

#[test]
fn methods_use_the_words_of_the_trade() {
    let mut offences = Vec::new();
    let mut methods = 0;
    for file in files_under("proto/battenboard").iter().filter(|file| file.path.ends_with(".proto")) {
        for line in file.text.lines() {
            let Some(name) = line.trim().strip_prefix("rpc ").and_then(|rest| rest.split('(').next()) else { continue };
            methods += 1;
            // The stamp of a drawing office; as a noun the word stays out.
            let words = words_of(name.trim_start_matches("IssueForCutting"));
            for word in words {
                if NEVER.contains(&word.as_str()) {
                    offences.push(format!("{}: {name}", file.path));
                }
            }
        }
    }
    assert!(methods > 20, "only {methods} methods were found");
    none("words never used in method names", offences);
}

#[test]
fn verbs_of_the_command_use_the_words_of_the_trade() {
    let help =
        std::process::Command::new(env!("CARGO_BIN_EXE_battenboard")).args(["batten", "--help"]).output().unwrap();
    let help = String::from_utf8(help.stdout).unwrap();
    let verbs: Vec<&str> = help
        .lines()
        .skip_while(|line| !line.starts_with("Commands:"))
        .skip(1)
        .take_while(|line| !line.is_empty())
        .filter(|line| line.starts_with("  ") && !line.starts_with("    "))
        .filter_map(|line| line.split_whitespace().next())
        .collect();
    assert!(verbs.len() >= 10, "the help lists {verbs:?}");
    // The stamp of a drawing office; as a noun the word stays out.
    let parts = verbs
        .iter()
        .filter(|verb| **verb != "issue-for-cutting")
        .flat_map(|verb| verb.split('-').map(move |part| (verb, part)));
    none(
        "verbs never used",
        parts.filter(|(_, part)| NEVER.contains(part)).map(|(verb, _)| verb.to_string()).collect(),
    );
}

/// `ListBuildGroups` as `list`, `build`, `groups`.
fn words_of(name: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for c in name.chars() {
        match words.last_mut() {
            Some(word) if !c.is_uppercase() => word.push(c),
            _ => words.push(c.to_lowercase().to_string()),
        }
    }
    words
}

#[test]
fn every_path_named_in_the_map_exists() {
    for document in ["DEVELOPERS.md", "README.md"] {
        let text = fs::read_to_string(top().join(document)).unwrap();
        let named: Vec<&str> = text.split('`').skip(1).step_by(2).filter(|name| is_our_path(name)).collect();
        assert!(document == "README.md" || named.len() > 10, "{document} names only {named:?}");
        let missing =
            named.into_iter().filter(|name| !top().join(name).exists()).map(|name| format!("{document}: {name}"));
        none("paths named but not there", missing.collect());
    }
}

/// A quoted word that is meant as a path of this repository: it begins with a top-level name and holds no pattern.
fn is_our_path(name: &str) -> bool {
    let first = name.split('/').next().unwrap_or_default();
    let rooted = TOP_LEVEL.contains(&first) || [".ci", ".cargo", ".deny.toml", ".clippy.toml"].contains(&first);
    rooted && name.contains(['/', '.']) && !name.contains(['*', '{', '<', ' ', '…', ':'])
}
