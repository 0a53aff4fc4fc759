//! The tour of README.md as a new user walks it; its screens are kept as named snapshots.

use battenboard_client::{Exit, Screen, run_captured};
use battenboard_tests::harness::{Database, DatabaseKind, ServerProcess};
use std::path::{Path, PathBuf};

/// The walk: folders of two people, and words that differ from run to run.
struct Walk {
    folder: PathBuf,
    changing: Vec<(String, &'static str)>,
}

impl Walk {
    fn types(&self, who: &str, arguments: &[&str]) -> Screen {
        let desk = self.folder.join(who);
        std::fs::create_dir_all(&desk).unwrap();
        run_captured(arguments, &desk, &self.folder.join("accounts").join(who), "")
    }

    /// Runs a command line, keeps its screen under a name, and gives it.
    #[track_caller]
    fn keeps(&self, name: &str, who: &str, arguments: &[&str], exit: Exit) -> Screen {
        let screen = self.types(who, arguments);
        assert_eq!(screen.exit, exit, "batten {}\n{}{}", arguments.join(" "), screen.stdout, screen.stderr);
        let mut shown = format!("{who}$ batten {}\n{}", arguments.join(" "), screen.stdout);
        if !screen.stderr.is_empty() {
            shown.push_str(&format!("--- beside it\n{}", screen.stderr));
        }
        for (text, word) in &self.changing {
            shown = shown.replace(text.as_str(), word);
        }
        insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
            insta::assert_snapshot!(name, without_times(&shown));
        });
        screen
    }
}

/// Dates, times of day and one-time codes, blotted out: `2026-11-25 15:51` as `DATE TIME`.
pub fn without_times(text: &str) -> String {
    let shape = |word: &str| word.chars().map(|c| if c.is_ascii_digit() { '0' } else { c }).collect::<String>();
    let blot = |word: &str| -> Option<&'static str> {
        let groups: Vec<&str> = word.split('-').collect();
        if groups.len() == 4
            && groups.iter().all(|group| group.len() == 5 && group.bytes().all(|b| b.is_ascii_alphanumeric()))
        {
            return Some("CODE");
        }
        match shape(word).as_str() {
            "0000-00-00" => Some("DATE"),
            "00:00" | "00:00:00" => Some("TIME"),
            _ => None,
        }
    };
    // What stands around a date stays.
    let blotted = |word: &str| -> String {
        let bare = word.trim_matches(['(', ',', '.', ';', ':', ')']);
        blot(bare).map_or_else(|| word.to_owned(), |blot| word.replacen(bare, blot, 1))
    };
    let line = |line: &str| line.split(' ').map(blotted).collect::<Vec<_>>().join(" ").trim_end().to_owned();
    text.lines().map(line).collect::<Vec<_>>().join("\n")
}

#[test]
fn the_tour_by_hand() {
    let folder = tempfile::tempdir().unwrap();
    let database = Database::fresh(DatabaseKind::Sqlite);
    let server = ServerProcess::start(env!("CARGO_BIN_EXE_battenboard"), &database);
    let address = server.address_with_scheme();
    let mut walk = Walk {
        folder: folder.path().to_path_buf(),
        changing: vec![
            (address.clone(), "http://SERVER"),
            (server.address().to_owned(), "SERVER"),
            (folder.path().to_string_lossy().into_owned(), "FOLDER"),
        ],
    };
    alone(&walk);
    for who in ["ines", "okoro"] {
        std::fs::create_dir_all(folder.path().join(who)).unwrap();
        std::fs::write(folder.path().join(who).join("password"), "seven planks of larch\n").unwrap();
    }
    let signed = ["sign-up", "ines", "--server", &address, "--password-file", "password"];
    walk.keeps("tour_05_sign_up", "ines", &signed, Exit::Holds);
    let group = ["found-group", "saltmarsh-wheels", "--title", "Saltmarsh Wheels"];
    walk.keeps("tour_06_found_group", "ines", &group, Exit::Holds);
    let verdict = walk.types("ines", &["check"]).exit;
    walk.keeps("tour_07_submit", "ines", &["submit", "--note", "first drawing"], verdict);
    let code = walk.types("ines", &["let-in", "--as", "reviewer", "--json"]);
    let code: serde_json::Value = serde_json::from_str(&code.stdout).unwrap();
    let code = code["code"].as_str().unwrap().to_owned();
    walk.changing.push((code.clone(), "CODE"));
    let signed = ["sign-up", "okoro", "--server", &address, "--password-file", "password", "--code", &code];
    walk.keeps("tour_08_sign_up_by_code", "okoro", &signed, Exit::Holds);
    second_opinion(&walk);
    go_on(&walk, folder.path());
}

fn alone(walk: &Walk) {
    let start = walk.types("ines", &["start", "--yes"]);
    let check = walk.types("ines", &["check"]).exit;
    assert!([Exit::Holds, Exit::FallsShort].contains(&check), "{}{}", start.stdout, start.stderr);
    walk.keeps("tour_01_start", "ines", &["start", "--yes", "--over"], start.exit);
    walk.keeps("tour_02_check", "ines", &["check"], check);
    let why = walk.types("ines", &["why", "B3"]).exit;
    walk.keeps("tour_03_why", "ines", &["why", "B3"], why);
    let tried = walk.types("ines", &["try", "B*", "45x95"]).exit;
    walk.keeps("tour_04_try", "ines", &["try", "B*", "45x95"], tried);
}

fn second_opinion(walk: &Walk) {
    walk.keeps("tour_09_remark", "okoro", &["remark", "B3", "springy under a knee", "--kind", "snag"], Exit::Holds);
    walk.keeps("tour_10_remarks", "ines", &["remarks"], Exit::Holds);
    walk.keeps("tour_11_answer", "ines", &["answer", "1", "now 45x95"], Exit::Holds);
}

fn go_on(walk: &Walk, folder: &Path) {
    let file = folder.join("ines").join("frame.toml");
    let before = std::fs::read_to_string(&file).unwrap();
    let kept = walk.types("ines", &["try", "B*", "45x95", "--keep"]);
    let after = std::fs::read_to_string(&file).unwrap();
    assert_ne!(before, after, "{}{}", kept.stdout, kept.stderr);
    let verdict = walk.types("ines", &["check"]).exit;
    walk.keeps("tour_12_submit_again", "ines", &["submit", "--note", "deeper bearers"], verdict);
    walk.keeps("tour_13_revisions", "ines", &["revisions"], Exit::Holds);
    walk.keeps("tour_14_compare", "ines", &["compare", "A", "B"], Exit::Holds);
    walk.keeps("tour_15_clear", "okoro", &["clear", "1"], Exit::Holds);
    walk.keeps("tour_16_raise_again", "okoro", &["raise-again", "1", "still springy"], Exit::Holds);
    let bare = walk.types("ines", &[]).exit;
    walk.keeps("tour_17_bare", "ines", &[], bare);
}
