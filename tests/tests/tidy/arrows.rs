//! What may depend on what.

use super::sources::{Source, none, rust_under, top};
use std::fs;

/// Libraries whose use is confined, and the crates that may name them in their manifest.
const CONFINED: [(&str, &[&str]); 9] = [
    ("tonic", &["proto", "server", "client-cli", "tests"]),
    ("prost", &["proto", "server", "tests"]),
    ("tokio", &["server", "client-cli", "tests"]),
    ("sea-orm", &["server", "tests"]),
    ("sea-orm-migration", &["migrations"]),
    ("toml", &["server", "server/designfile", "tests"]),
    ("faer", &["server/engine"]),
    ("miette", &["client-cli"]),
    ("argon2", &["server"]),
];

/// Our own crates and what each may depend on.
const OWN: [(&str, &[&str]); 7] = [
    ("server/engine", &[]),
    ("server/designfile", &["battenboard-engine"]),
    ("proto", &["battenboard-engine"]),
    ("migrations", &[]),
    ("server", &["battenboard-proto", "battenboard-engine", "battenboard-designfile", "battenboard-migrations"]),
    ("client-cli", &["battenboard-proto", "battenboard-engine", "battenboard-designfile"]),
    (
        "tests",
        &[
            "battenboard-proto",
            "battenboard-engine",
            "battenboard-designfile",
            "battenboard-migrations",
            "battenboard-server",
            "battenboard-client",
        ],
    ),
];

/// Names of the dependencies of one crate; `dev` adds those of its tests.
fn dependencies(folder: &str, dev: bool) -> Vec<String> {
    let text = fs::read_to_string(top().join(folder).join("Cargo.toml")).unwrap();
    let manifest: toml::Table = text.parse().unwrap();
    let tables: &[&str] = if dev { &["dependencies", "dev-dependencies"] } else { &["dependencies"] };
    tables
        .iter()
        .filter_map(|name| manifest.get(*name).and_then(toml::Value::as_table))
        .flat_map(|table| table.keys().cloned())
        .collect()
}

#[test]
fn every_member_of_the_workspace_is_listed_here() {
    let manifest: toml::Table = fs::read_to_string(top().join("Cargo.toml")).unwrap().parse().unwrap();
    let members = manifest["workspace"]["members"].as_array().unwrap();
    let mut members: Vec<&str> = members.iter().map(|member| member.as_str().unwrap()).collect();
    let mut listed: Vec<&str> = OWN.iter().map(|(folder, _)| *folder).collect();
    members.sort_unstable();
    listed.sort_unstable();
    assert_eq!(members, listed, "a crate without a row could depend on anything");
}

#[test]
fn manifests_hold_the_arrows() {
    let mut offences = Vec::new();
    for (folder, allowed) in OWN {
        for dependency in dependencies(folder, folder != "tests") {
            if dependency.starts_with("battenboard-") && !allowed.contains(&dependency.as_str()) {
                offences.push(format!("{folder} must not depend on {dependency}"));
            }
            if let Some((_, crates)) = CONFINED.iter().find(|(library, _)| *library == dependency)
                && !crates.contains(&folder)
            {
                offences.push(format!("{folder} must not name {dependency}; only {crates:?} may"));
            }
        }
    }
    none("arrows between crates (DEVELOPERS.md)", offences);
}

#[test]
fn the_engine_depends_on_numerics_and_plain_data_alone() {
    let allowed = ["faer", "rayon", "serde", "serde_json", "sha2", "thiserror"];
    let offences = dependencies("server/engine", false).into_iter().filter(|name| !allowed.contains(&name.as_str()));
    none("dependencies of the engine", offences.collect());
}

/// Offences of one word list in some files.
fn names(files: &[Source], words: &[&str], except: impl Fn(&str) -> bool) -> Vec<String> {
    let mut offences = Vec::new();
    for file in files.iter().filter(|file| !except(&file.path)) {
        for (number, code) in file.code_lines() {
            for word in words {
                if holds_word(code, word) {
                    offences.push(format!("{}:{number} names `{word}`", file.path));
                }
            }
        }
    }
    offences
}

/// True when `word` stands in `code` with no letter, digit or underscore on either side of it.
fn holds_word(code: &str, word: &str) -> bool {
    let part_of_name = |c: char| c.is_alphanumeric() || c == '_';
    code.match_indices(word).any(|(start, _)| {
        let before = code[..start].chars().next_back();
        let after = code[start + word.len()..].chars().next();
        !before.is_some_and(part_of_name) && !after.is_some_and(part_of_name)
    })
}

#[test]
fn the_engine_reads_no_clock_no_file_no_environment_and_keeps_no_unordered_map() {
    let words = [
        "std::fs",
        "std::env",
        "std::net",
        "std::process",
        "std::time",
        "std::thread",
        "SystemTime",
        "Instant",
        "HashMap",
        "HashSet",
        "RandomState",
        "tonic",
        "prost",
        "sea_orm",
        "tokio",
        "toml",
        "rand",
        "battenboard_proto",
        "battenboard_server",
        "println",
        "eprintln",
        "dbg",
    ];
    none("the engine is pure", names(&rust_under("server/engine/src"), &words, |_| false));
    let words = ["std::fs", "std::env", "std::net", "std::process", "std::time", "std::thread", "HashMap", "HashSet"];
    none("the design file's reader is pure", names(&rust_under("server/designfile/src"), &words, |_| false));
}

#[test]
fn in_the_engine_arrows_go_from_rules_to_statics_to_design() {
    let engine = rust_under("server/engine/src");
    let room = |room: &str| -> Vec<Source> {
        let (file, folder) = (format!("server/engine/src/{room}.rs"), format!("server/engine/src/{room}/"));
        let inside = |source: &&Source| source.path == file || source.path.starts_with(&folder);
        engine.iter().filter(inside).map(|s| Source { path: s.path.clone(), text: s.text.clone() }).collect()
    };
    let mut offences = names(
        &room("design"),
        &["crate::statics", "crate::rules", "crate::mass", "crate::fit", "crate::check"],
        |_| false,
    );
    let above_statics = ["crate::rules", "crate::mass", "crate::fit", "crate::check"];
    offences.extend(names(&room("statics"), &above_statics, |_| false));
    // Masses and room need no forces.
    for beside in ["mass", "fit"] {
        offences.extend(names(&room(beside), &["crate::rules", "crate::check"], |_| false));
    }
    offences.extend(names(&room("rules"), &["crate::check"], |_| false));
    let above_tables = ["crate::statics", "crate::rules", "crate::mass", "crate::fit", "crate::check"];
    offences.extend(names(&room("tables"), &above_tables, |_| false));
    none("never upward", offences);
}

#[test]
fn the_command_knows_neither_server_nor_database() {
    let words = ["battenboard_server", "battenboard_migrations", "sea_orm", "sqlx", "rusqlite"];
    none("the command's arrows", names(&rust_under("client-cli/src"), &words, |_| false));
}

#[test]
fn only_the_services_the_way_in_and_startup_name_the_wire() {
    let server = rust_under("server/src");
    let allowed = ["server/src/service", "server/src/auth/interceptor", "server/src/startup", "server/src/shutdown"];
    let offences = names(&server, &["tonic", "tonic_types", "tonic_health", "tonic_reflection"], |path| {
        allowed.iter().any(|start| path.starts_with(start))
    });
    none("only service, auth's interceptor and startup name tonic", offences);
    let client = rust_under("client-cli/src");
    let offences = names(&client, &["tonic", "tonic_types"], |path| path.starts_with("client-cli/src/connect"));
    none("only the command's connect names tonic", offences);
}

#[test]
fn only_the_store_names_the_database() {
    let server = rust_under("server/src");
    let allowed = ["server/src/store", "server/src/app/transaction"];
    let offences = names(&server, &["sea_orm", "sqlx"], |path| allowed.iter().any(|start| path.starts_with(start)));
    none("only store and app's transaction name sea-orm", offences);
}

#[test]
fn store_and_engine_never_meet_and_services_reach_the_store_through_app() {
    let room = |start: &'static str| move |path: &str| !path.starts_with(start);
    let server = rust_under("server/src");
    none("store and engine never meet", names(&server, &["battenboard_engine"], room("server/src/store")));
    let offences = names(&server, &["crate::store"], room("server/src/service"));
    none("service -> {auth, app}, never the store", offences);
    let offences = names(&server, &["crate::service"], |path| {
        !(path.starts_with("server/src/app") || path.starts_with("server/src/store"))
    });
    none("app and store never look up to the services", offences);
}

#[test]
fn a_word_is_found_only_as_a_whole() {
    assert!(holds_word("use std::fs;", "std::fs"));
    assert!(!holds_word("tonic_types::x", "tonic"));
    assert!(!holds_word("let operand = 1;", "rand"));
}
