//! Whole runs of the verbs that need no server, in folders of their own.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]

use crate::{Exit, Io, Screen, run_captured, run_with};
use std::ffi::OsString;
use std::io::Write;
use std::path::Path;

struct Desk {
    folder: tempfile::TempDir,
}

impl Desk {
    fn new() -> Self {
        Self { folder: tempfile::tempdir().unwrap() }
    }

    fn with_platform() -> Self {
        let desk = Self::new();
        desk.write("frame.toml", &super::start::usual_text());
        desk
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    fn write(&self, name: &str, text: &str) {
        std::fs::write(self.path().join(name), text).unwrap();
    }

    fn read(&self, name: &str) -> String {
        std::fs::read_to_string(self.path().join(name)).unwrap()
    }

    fn types(&self, args: &[&str]) -> Screen {
        self.answers(args, "")
    }

    fn answers(&self, args: &[&str], input: &str) -> Screen {
        let screen = run_captured(args, self.path(), &self.path().join("config"), input);
        if !args.contains(&"--json") && args.first() != Some(&"completions") {
            for line in screen.stdout.lines().chain(screen.stderr.lines()) {
                assert!(line.chars().count() <= 80, "{args:?}: wider than 80 columns: {line}");
            }
        }
        screen
    }
}

#[test]
fn an_empty_folder_says_how_to_begin() {
    let screen = Desk::new().types(&[]);
    assert_eq!(
        screen.stdout,
        "There is no design file in this folder.\n\
         Next: batten start writes a starter file and checks it; it needs no account\n"
    );
    assert_eq!((screen.stderr.as_str(), screen.exit), ("", Exit::Holds));
}

#[test]
fn start_asks_at_most_six_questions_and_takes_units() {
    let desk = Desk::new();
    let screen = desk.answers(&["start"], "platform\n180 cm\n1.2 m\n40 cm\n45x95\n1\n");
    assert_eq!(screen.stderr.matches('?').count(), 6, "{}", screen.stderr);
    assert!(screen.stderr.contains("Wrote frame.toml"), "{}", screen.stderr);
    assert!(screen.stdout.contains("from above (front <)") && screen.stdout.contains("Next: "), "{}", screen.stdout);
    let text = desk.read("frame.toml");
    assert!(text.contains("45x95") && text.contains('#'), "{text}");
    assert_eq!(desk.types(&["start", "--yes"]).exit, Exit::Usage, "a file is never written over unasked");
}

#[test]
fn a_wrong_answer_is_put_again_and_an_end_of_input_is_no_hang() {
    let desk = Desk::new();
    let screen = desk.answers(&["start"], "a boat\nsettle\n18 kg\n1.9 m\n\n\n\n\n");
    assert!(screen.stderr.contains("none of them"), "{}", screen.stderr);
    assert!(screen.stderr.contains("18 kg"), "{}", screen.stderr);
    assert!(desk.path().join("frame.toml").exists());
    let screen = Desk::new().types(&["start"]);
    assert_eq!(screen.exit, Exit::Usage);
    assert!(screen.stderr.contains("there is nobody to ask"), "{}", screen.stderr);
}

#[test]
fn start_by_flags_asks_nothing() {
    for what in ["platform", "settle", "mezzanine"] {
        let desk = Desk::new();
        let screen = desk.types(&["start", "--what", what, "--yes"]);
        assert!(!screen.stderr.contains('?'), "{}", screen.stderr);
        assert_eq!(screen.exit, Exit::Holds, "the usual answers hold: {what}\n{}{}", screen.stdout, screen.stderr);
    }
}

#[test]
fn check_needs_no_account_and_its_exit_code_is_its_verdict() {
    let desk = Desk::with_platform();
    let screen = desk.types(&["check", "--json"]);
    let findings: battenboard_engine::findings::Findings = serde_json::from_str(&screen.stdout).unwrap();
    assert!(findings.results.is_some(), "--json has the results");
    assert_eq!(screen.exit, findings.verdict.into());
    let plain = desk.types(&["check"]);
    assert_eq!(plain.exit, screen.exit);
    assert!(plain.stdout.lines().count() <= 23, "the first screen fits 24 rows:\n{}", plain.stdout);
    assert!(!desk.path().join("config").exists(), "an offline check leaves nothing behind");
}

#[test]
fn all_mistakes_of_a_file_come_at_once() {
    let desk = Desk::new();
    desk.write("frame.toml", "format = 1\nnaem = \"x\"\ntitel = \"y\"\n");
    let screen = desk.types(&["check"]);
    assert_eq!((screen.exit, screen.stdout.as_str()), (Exit::Usage, ""));
    assert!(screen.stderr.contains("naem") && screen.stderr.contains("titel"), "{}", screen.stderr);
    assert!(screen.stderr.contains("^^^^"), "{}", screen.stderr);
}

#[test]
fn a_mistyped_tag_or_word_or_verb_offers_the_nearest() {
    let desk = Desk::with_platform();
    let screen = desk.types(&["why", "B33"]);
    assert_eq!(screen.exit, Exit::Usage);
    assert!(screen.stderr.contains("did you mean `B3`?"), "{}", screen.stderr);
    assert!(desk.types(&["words", "utilization"]).stderr.contains("did you mean `utilisation`?"));
    assert!(desk.types(&["chekc"]).stderr.contains("check"));
    assert_eq!(desk.types(&["chekc"]).exit, Exit::Usage);
}

#[test]
fn why_goes_down_to_the_floor() {
    let screen = Desk::with_platform().types(&["why", "b3"]);
    for part in ["bearer B3", "-> rail R", "-> post P", "-> floor", "Clause:", "Assumed:"] {
        assert!(screen.stdout.contains(part), "no `{part}`:\n{}", screen.stdout);
    }
    assert!(!screen.stdout.contains(", times "), "the way is without safety factors:\n{}", screen.stdout);
}

#[test]
fn the_way_has_neither_safety_factors_nor_creep() {
    let desk = Desk::with_platform();
    for tag in ["B1", "B4", "RL"] {
        let screen = desk.types(&["why", tag]);
        let way: Vec<&str> = screen.stdout.lines().filter(|line| line.starts_with("  -> ")).collect();
        assert!(screen.stdout.contains("without safety factors, under: "), "{tag}:\n{}", screen.stdout);
        assert!(way.last().is_some_and(|line| line.starts_with("  -> floor: ")), "{tag}:\n{}", screen.stdout);
    }
}

/// On the road there is only strength, so the way of such a load is with its safety factors, and says so.
#[test]
fn the_way_on_the_road_says_that_its_factors_are_in() {
    // Without people the road is the worst that comes.
    let text = super::start::usual_text();
    let (before, people) = text.split_once("[[people]]").unwrap();
    let (_, after) = people.rsplit_once("\n\n# ").unwrap();
    let desk = Desk::new();
    desk.write("frame.toml", &format!("{before}# {after}"));
    let screen = desk.types(&["why", "PL1"]);
    assert!(screen.stdout.contains("safety factors counted in, under: a b"), "{}", screen.stdout);
    assert!(!screen.stdout.contains("without safety factors, under"), "{}", screen.stdout);
    assert!(screen.stdout.contains("PL1/floor must not lift"), "{}", screen.stdout);
}

#[test]
fn try_tells_before_and_after_and_keep_leaves_every_comment() {
    let desk = Desk::with_platform();
    let before = desk.read("frame.toml");
    let screen = desk.types(&["try", "B*", "45x95"]);
    assert!(screen.stdout.contains("before") && screen.stdout.contains("after"), "{}", screen.stdout);
    assert_eq!(desk.read("frame.toml"), before, "nothing is written without --keep");
    desk.types(&["try", "B*", "45x95", "--keep"]);
    let after = desk.read("frame.toml");
    let comments = |text: &str| text.lines().filter(|line| line.trim_start().starts_with('#')).count();
    assert_ne!(after, before);
    assert_eq!(comments(&after), comments(&before));
    let screen = desk.types(&["try", "B3", "60x95", "--keep"]);
    assert_eq!(screen.exit, Exit::Usage, "one of a row can't be written alone: {}", screen.stdout);
    assert!(screen.stderr.contains("batten try 'B*' 60x95 --keep"), "{}", screen.stderr);
    let screen = desk.types(&["try", "B3", "45x70"]);
    assert!(
        screen.stderr.contains("the whole row: batten try 'B*' 45x70"),
        "its deck would not lie level: {}",
        screen.stderr
    );
}

#[test]
fn verbs_with_a_server_say_how_to_get_one() {
    let desk = Desk::with_platform();
    for args in [&["designs"][..], &["submit"], &["remarks"], &["account"], &["remark", "B3", "loose"]] {
        let screen = desk.types(args);
        assert_eq!(screen.exit, Exit::Usage, "{args:?}");
        assert!(screen.stderr.contains("--server"), "{args:?}: {}", screen.stderr);
    }
    let screen = desk.types(&["designs", "--server", "http://127.0.0.1:1"]);
    assert_eq!(screen.exit, Exit::Server);
    assert!(screen.stderr.contains("nobody answers at that address"), "{}", screen.stderr);
}

#[test]
fn a_submission_without_network_is_kept_once() {
    let desk = Desk::with_platform();
    let args = ["submit", "--server", "http://127.0.0.1:1", "--group", "saltmarsh-wheels"];
    for _ in 0..2 {
        let screen = desk.types(&args);
        assert_eq!(screen.exit, Exit::Server);
        assert!(screen.stderr.contains("is kept in .batten/unsent"), "{}", screen.stderr);
    }
    let kept: Vec<crate::sidecar::Unsent> = serde_json::from_str(&desk.read(".batten/unsent/frame.json")).unwrap();
    assert_eq!(kept.len(), 1);
    assert_eq!(kept[0].text, desk.read("frame.toml"));
    assert!(desk.types(&[]).stdout.contains("A submission waits to be sent"));
    desk.write("frame.toml", &desk.read("frame.toml").replace("A berth platform", "Another berth platform"));
    desk.types(&args);
    assert!(desk.types(&[]).stdout.contains("2 submissions wait to be sent"));
}

#[test]
fn what_is_kept_stays_as_it_was_whatever_becomes_of_the_file() {
    let desk = Desk::with_platform();
    let args = ["submit", "--server", "http://127.0.0.1:1/", "--note", "first"];
    let screen = desk.types(&args);
    assert_eq!((screen.exit, screen.stdout.as_str()), (Exit::Server, ""), "{}", screen.stderr);
    let before = desk.read("frame.toml");
    desk.write("frame.toml", &before.replace("A berth platform", "Another berth platform"));
    let here = desk.types(&[]).stdout.replace('\n', " ");
    assert!(here.contains("kept just now; the file has changed since."), "{here}");
    let kept: Vec<crate::sidecar::Unsent> = serde_json::from_str(&desk.read(".batten/unsent/frame.json")).unwrap();
    assert_eq!((kept[0].text.as_str(), kept[0].note.as_str()), (before.as_str(), "first"));
    // Neither a group nor a slash at the end of the address makes it another one.
    assert_eq!((kept[0].server.as_str(), kept[0].group.as_str()), ("http://127.0.0.1:1", ""));
}

#[test]
fn what_is_kept_goes_only_when_it_is_said_so() {
    let desk = Desk::with_platform();
    for title in ["One", "Two"] {
        desk.write("frame.toml", &super::start::usual_text().replace("A berth platform", title));
        desk.types(&["submit", "--server", "http://127.0.0.1:1"]);
    }
    let screen = desk.types(&["submit", "--drop-kept"]);
    assert_eq!((screen.exit, screen.stderr.as_str()), (Exit::Holds, ""));
    let said = screen.stdout.replace('\u{a0}', " ");
    assert_eq!(said, "Dropped: 2 submissions, kept just now and just now. Your file stays as it is.\n");
    assert!(!desk.types(&[]).stdout.contains("to be sent"));
    assert_eq!(desk.types(&["submit", "--drop-kept", "--json"]).stdout, "{\n  \"dropped\": []\n}\n");
    assert_eq!(desk.types(&["submit", "--drop-kept", "--worked-from", "A"]).exit, Exit::Usage);
}

#[test]
fn a_password_is_never_asked_of_nobody() {
    let screen = Desk::new().types(&["sign-in", "ines", "--server", "http://127.0.0.1:1"]);
    assert_eq!(screen.exit, Exit::Usage);
    assert!(screen.stderr.contains("--password-file"), "{}", screen.stderr);
}

#[test]
fn help_and_completions_are_data() {
    let desk = Desk::new();
    let help = desk.types(&["--help"]);
    assert_eq!((help.exit, help.stderr.as_str()), (Exit::Holds, ""));
    assert!(help.stdout.contains("Exit codes"), "{}", help.stdout);
    for shell in ["bash", "zsh", "fish"] {
        assert!(desk.types(&["completions", shell]).stdout.contains("raise-again"), "{shell}");
    }
}

#[test]
fn a_closed_pipe_is_a_quiet_end() {
    struct Closed;
    impl Write for Closed {
        fn write(&mut self, _: &[u8]) -> std::io::Result<usize> {
            Err(std::io::ErrorKind::BrokenPipe.into())
        }
        fn flush(&mut self) -> std::io::Result<()> {
            Ok(())
        }
    }
    let desk = Desk::with_platform();
    for args in [&["check"][..], &["check", "--json"], &["words"], &["completions", "bash"], &["--help"]] {
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let mut io = Io::captured(b"", &mut out, &mut err, desk.path(), desk.path());
        io.stdout = Box::new(Closed);
        let exit = run_with(args.iter().map(OsString::from), &mut io);
        drop(io);
        assert_eq!((exit, err.as_slice()), (Exit::Holds, b"".as_slice()), "{args:?}");
    }
}

#[test]
fn colour_only_repeats_what_words_say() {
    let desk = Desk::with_platform();
    let plain = desk.types(&["check"]).stdout;
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let mut io = Io::captured(b"", &mut out, &mut err, desk.path(), desk.path());
    io.colour = true;
    run_with([OsString::from("check")], &mut io);
    drop(io);
    let painted = String::from_utf8(out).unwrap();
    assert!(painted.contains('\u{1b}'));
    let mut bare = String::new();
    let mut within = false;
    for letter in painted.chars() {
        match (within, letter) {
            (_, '\u{1b}') => within = true,
            (true, 'm') => within = false,
            (true, _) => {}
            (false, letter) => bare.push(letter),
        }
    }
    assert_eq!(bare, plain);
}

#[test]
fn whoever_makes_sums_of_his_own_is_shown_no_figure_by_this_command_either() {
    let desk = Desk::with_platform();
    let sidecar = crate::sidecar::Sidecar::of(&desk.path().join("frame.toml"));
    assert_ne!(desk.types(&["check"]).exit, Exit::NotChecked);
    sidecar.keep_withheld(true).unwrap();
    for way in [&[][..], &["check"], &["why", "B1"], &["try", "B1", "45x95"]] {
        let screen = desk.types(way);
        assert_eq!(screen.exit, Exit::NotChecked, "{way:?}");
        assert!(screen.stdout.contains("You make sums of your own"), "{way:?}\n{}", screen.stdout);
        for figure in ["takes", "Falls short", "Holds", "kg"] {
            assert!(!screen.stdout.contains(figure), "{way:?} says `{figure}`\n{}", screen.stdout);
        }
        let json: serde_json::Value = serde_json::from_str(&desk.types(&[way, &["--json"]].concat()).stdout).unwrap();
        assert_eq!(json["figures_withheld"], true, "{way:?}");
    }
    sidecar.keep_withheld(false).unwrap();
    sidecar.keep_withheld(false).unwrap();
    assert_ne!(desk.types(&["check"]).exit, Exit::NotChecked);
}
