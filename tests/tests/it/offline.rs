//! A builder in a yard without network: what is submitted is kept, and goes to the server once there is one; what server
//! and people said stays readable. The command and the server are processes.

use battenboard_tests::harness::frames::one_bearer;
use battenboard_tests::harness::{Database, DatabaseKind, ServerProcess};
use battenboard_tests::verify::not_run;
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::time::Duration;

const PROGRAM: &str = env!("CARGO_BIN_EXE_battenboard");

/// A server that is switched off and on again where it was, and the folders of those who use it.
struct Yard {
    database: Database,
    address: String,
    server: Option<ServerProcess>,
    folder: tempfile::TempDir,
}

impl Yard {
    /// Plays a scene in which ines has her first revision at the server, on each database.
    fn each(name: &str, scene: impl Fn(&mut Yard, &Desk)) {
        for kind in DatabaseKind::ALL {
            if !kind.is_here() {
                not_run("postgres", name);
                continue;
            }
            let database = Database::fresh(kind);
            let server = ServerProcess::start(PROGRAM, &database);
            let address = server.address().to_owned();
            let mut yard = Self { database, address, server: Some(server), folder: tempfile::tempdir().unwrap() };
            let ines = yard.desk("ines");
            ines.ends_with(0, &["sign-up", "ines", "--server", &yard.url(), "--password-file", "password"]);
            ines.ends_with(0, &["found-group", "saltmarsh-wheels"]);
            ines.draws(800.0);
            ines.ends_with(0, &["submit", "--note", "first"]);
            scene(&mut yard, &ines);
        }
    }

    fn url(&self) -> String {
        format!("http://{}", self.address)
    }

    fn desk(&self, name: &str) -> Desk {
        let home = self.folder.path().join(name);
        std::fs::create_dir_all(&home).unwrap();
        std::fs::write(home.join("password"), "seven planks of larch\n").unwrap();
        Desk { home }
    }

    /// The server goes as in a power cut.
    fn goes_off(&mut self) {
        self.server = None;
    }

    fn comes_back(&mut self) {
        self.server = Some(ServerProcess::start_at(PROGRAM, &self.database, &self.address));
    }

    /// Another builder of the group, with a folder of his own.
    fn maarit(&self, ines: &Desk) -> Desk {
        let code: Value = serde_json::from_str(&ines.says(0, &["let-in", "--as", "builder", "--json"])).unwrap();
        let code = code["code"].as_str().unwrap();
        let maarit = self.desk("maarit");
        let sign_up = ["sign-up", "maarit", "--server", &self.url(), "--password-file", "password", "--code", code];
        maarit.ends_with(0, &sign_up);
        maarit
    }
}

/// Somebody at a shell in a folder of his own.
struct Desk {
    home: PathBuf,
}

impl Desk {
    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(PROGRAM);
        command
            .arg("batten")
            .args(arguments)
            .current_dir(&self.home)
            .env("BATTEN_CONFIG_DIR", self.home.join("config"));
        command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
        command
    }

    #[track_caller]
    fn run(&self, exit: i32, arguments: &[&str]) -> Output {
        let output = self.command(arguments).output().unwrap();
        let said = format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
        assert_eq!(output.status.code(), Some(exit), "batten {}\n{said}", arguments.join(" "));
        output
    }

    /// All it said, on one line, so that no wrap parts what is looked for.
    #[track_caller]
    fn ends_with(&self, exit: i32, arguments: &[&str]) -> String {
        let output = self.run(exit, arguments);
        let said = format!("{}{}", String::from_utf8_lossy(&output.stderr), String::from_utf8_lossy(&output.stdout));
        said.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// What stands on stdout.
    #[track_caller]
    fn says(&self, exit: i32, arguments: &[&str]) -> String {
        String::from_utf8(self.run(exit, arguments).stdout).unwrap()
    }

    /// The design file as it is from now on.
    fn draws(&self, length_mm: f64) {
        std::fs::write(self.home.join("frame.toml"), one_bearer("shelf", length_mm)).unwrap();
    }

    fn memory(&self) -> PathBuf {
        self.home.join(".batten")
    }

    /// What is kept, as it stands on disk.
    fn kept(&self) -> Vec<Value> {
        match std::fs::read_to_string(self.memory().join("unsent/frame.json")) {
            Ok(text) => serde_json::from_str(&text).unwrap(),
            Err(_) => Vec::new(),
        }
    }

    /// Letter, letter it was worked from and note of each revision, newest first.
    fn revisions(&self) -> Vec<(String, String, String)> {
        let list: Value = serde_json::from_str(&self.says(0, &["revisions", "--json"])).unwrap();
        let list = list.as_array().or_else(|| list["revisions"].as_array()).expect("a list of revisions");
        let text = |item: &Value, field: &str| item[field].as_str().unwrap_or_default().to_owned();
        list.iter().map(|item| (text(item, "letter"), text(item, "worked_from"), text(item, "note"))).collect()
    }
}

fn has(said: &str, parts: &[&str]) {
    for part in parts {
        assert!(said.contains(part), "`{part}` is missing:\n{said}");
    }
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap().map(Result::unwrap) {
        let target = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy(&entry.path(), &target);
        } else {
            std::fs::copy(entry.path(), target).unwrap();
        }
    }
}

fn revision(letter: &str, worked_from: &str, note: &str) -> (String, String, String) {
    (letter.into(), worked_from.into(), note.into())
}

#[test]
fn what_is_kept_goes_in_its_order_as_it_was_then() {
    Yard::each("what is kept goes in its order", |yard, ines| {
        yard.goes_off();
        ines.draws(850.0);
        has(&ines.ends_with(4, &["submit", "--note", "second"]), &["can't be reached", "is kept in .batten/unsent"]);
        has(&ines.ends_with(4, &["submit", "--note", "second"]), &["This very submission is kept"]);
        ines.draws(900.0);
        has(&ines.ends_with(4, &["submit", "--note", "third"]), &["2 submissions wait now"]);
        ines.draws(950.0);
        let here = ines.ends_with(0, &[]);
        has(
            &here,
            &["2 submissions wait to be sent, kept just now; the file has changed since.", "Next: batten submit"],
        );
        yard.comes_back();
        let said = ines.ends_with(0, &["submit", "--note", "fourth"]);
        has(&said, &["it is revision B. The file has changed since; it went as it was then.", "it is revision C."]);
        has(&said, &["Kept as revision D of shelf (saltmarsh-wheels)."]);
        let expected = [
            revision("D", "C", "fourth"),
            revision("C", "B", "third"),
            revision("B", "A", "second"),
            revision("A", "", "first"),
        ];
        assert_eq!(ines.revisions(), expected);
        assert_eq!(ines.says(0, &["fetch-file", "B", "--to", "-"]), one_bearer("shelf", 850.0));
        assert_eq!(ines.says(0, &["fetch-file", "C", "--to", "-"]), one_bearer("shelf", 900.0));
        assert!(ines.kept().is_empty());
        assert!(!ines.ends_with(0, &[]).contains("to be sent"));
    });
}

/// The server had it and the answer was lost: the folder stands as before the answer, the server goes on.
#[test]
fn a_lost_answer_makes_no_second_letter() {
    Yard::each("a lost answer", |yard, ines| {
        let maarit = yard.maarit(ines);
        yard.goes_off();
        ines.draws(850.0);
        ines.ends_with(4, &["submit", "--note", "second"]);
        let before = yard.folder.path().join("before the answer");
        copy(&ines.memory(), &before);
        yard.comes_back();
        has(&ines.ends_with(0, &["submit"]), &["Kept as revision B"]);
        std::fs::remove_dir_all(ines.memory()).unwrap();
        copy(&before, &ines.memory());
        // Another revision since: by its content alone the kept one would be refused.
        maarit.draws(700.0);
        maarit.ends_with(0, &["submit", "--worked-from", "B"]);
        let said = ines.ends_with(0, &["submit"]);
        has(&said, &["makes no second letter", "Kept as revision B"]);
        assert_eq!(ines.revisions().len(), 3);
        assert!(ines.kept().is_empty());
    });
}

#[test]
fn a_submission_is_kept_before_it_is_sent() {
    Yard::each("kept before it is sent", |yard, ines| {
        // Somebody takes the connection and never answers: the command is killed while it waits.
        yard.goes_off();
        let silent = std::net::TcpListener::bind(&yard.address).unwrap();
        ines.draws(850.0);
        let mut child = ines.command(&["submit", "--note", "second"]).spawn().unwrap();
        let (_held, _) = silent.accept().unwrap();
        child.kill().unwrap();
        child.wait().unwrap();
        drop((silent, _held));
        assert_eq!(ines.kept().len(), 1);
        has(&ines.ends_with(0, &[]), &["A submission waits to be sent"]);
        yard.comes_back();
        has(&ines.ends_with(0, &["submit"]), &["Kept as revision B"]);
        assert_eq!(ines.revisions()[0], revision("B", "A", "second"));
    });
}

#[test]
fn what_is_not_worked_from_the_latest_is_refused_and_never_lost() {
    Yard::each("refused and never lost", |yard, ines| {
        let maarit = yard.maarit(ines);
        yard.goes_off();
        ines.draws(850.0);
        ines.ends_with(4, &["submit", "--note", "second"]);
        let kept = ines.kept();
        yard.comes_back();
        maarit.draws(700.0);
        maarit.ends_with(0, &["submit", "--worked-from", "A"]);
        for _ in 0..2 {
            let said = ines.ends_with(6, &["submit"]);
            has(&said, &["maarit submitted revision B meanwhile; yours was worked from A", "it is kept still"]);
            has(&said, &["batten submit --worked-from B"]);
            assert_eq!(ines.kept()[0]["text"], kept[0]["text"]);
            assert_eq!(ines.kept()[0]["request_id"], kept[0]["request_id"]);
        }
        has(&ines.ends_with(0, &[]), &["someone else submitted revision B first", "batten submit --worked-from B"]);
        // What is only at hand is refused with it, and stands in the file.
        ines.draws(900.0);
        ines.ends_with(6, &["submit"]);
        assert_eq!(ines.kept().len(), 1);
        let said = ines.ends_with(0, &["submit", "--worked-from", "B", "--note", "with maarit's"]);
        has(&said, &["Kept as revision C", "1 kept before gave way to revision C"]);
        assert_eq!(ines.revisions()[0], revision("C", "B", "with maarit's"));
        assert_eq!(ines.kept()[0]["text"], kept[0]["text"], "given way, and still there to be read");
        has(&ines.ends_with(0, &["submit"]), &["Nothing changed"]);
        has(&ines.ends_with(0, &[]), &["One kept submission gave way"]);
        yard.goes_off();
        has(&ines.ends_with(0, &["submit", "--drop-kept"]), &["Dropped: the submission that was kept just now."]);
        assert!(ines.kept().is_empty());
        has(&ines.ends_with(0, &["submit", "--drop-kept"]), &["Nothing is kept here."]);
        ines.ends_with(3, &["submit", "--drop-kept", "--note", "x"]);
    });
}

#[test]
fn findings_and_remarks_are_read_without_network_with_their_age() {
    Yard::each("read without network", |yard, ines| {
        let maarit = yard.maarit(ines);
        maarit.draws(800.0);
        ines.ends_with(0, &["remark", "B1", "springy under a knee", "--kind", "snag"]);
        yard.goes_off();
        let said = ines.ends_with(4, &["remarks"]);
        has(&said, &["these are the remarks as of just now", "springy under a knee"]);
        let json: Value = serde_json::from_str(&ines.says(4, &["remarks", "--json"])).unwrap();
        assert!(json["as_of_us"].as_i64().unwrap() > 0 && json["remarks"].as_array().unwrap().len() == 1);
        let memory = "The server on revision A: holds (just now). 1 remark: 1 open (just now).";
        has(&ines.ends_with(0, &["check"]), &[memory, "Next: "]);
        has(&ines.ends_with(0, &["check", "--table"]), &[memory]);
        has(&ines.ends_with(0, &[]), &["The server on revision A: holds (just now).", "1 remark: 1 open (just now)."]);
        // Who remembers nothing is told nothing but that nobody answers.
        maarit.ends_with(4, &["remarks", "--design", "shelf"]);
        assert!(!maarit.ends_with(0, &["check"]).contains("The server on"));
    });
}

/// A first submission without network, before the folder knows a group.
#[test]
fn a_group_that_is_not_known_yet_is_found_when_it_is_sent() {
    Yard::each("a group not known yet", |yard, ines| {
        let maarit = yard.maarit(ines);
        yard.goes_off();
        std::fs::write(maarit.home.join("frame.toml"), one_bearer("bench", 800.0)).unwrap();
        let said: Value = serde_json::from_str(&maarit.says(4, &["submit", "--json"])).unwrap();
        assert_eq!((&said["kept"], &said["waiting_count"], &said["group"]), (&true.into(), &1.into(), &"".into()));
        yard.comes_back();
        has(&maarit.ends_with(0, &["submit"]), &["Kept as revision A of bench (saltmarsh-wheels)."]);
    });
}

/// Kills at all moments of keeping: what was kept before is whole afterwards, and so is what is there.
#[test]
fn a_kill_while_it_is_kept_loses_nothing() {
    Yard::each("a kill while it is kept", |yard, ines| {
        yard.goes_off();
        let mut told = 0;
        for number in 0..24_u64 {
            let length = 850.0 + number as f64;
            ines.draws(length);
            let mut child = ines.command(&["submit"]).spawn().unwrap();
            std::thread::sleep(Duration::from_millis(2 * number));
            child.kill().unwrap();
            // 4: it was told that it is kept.
            let acknowledged = child.wait().unwrap().code() == Some(4);
            let kept = ines.kept();
            let texts: Vec<&str> = kept.iter().map(|item| item["text"].as_str().unwrap()).collect();
            assert!(texts.len() >= told, "{} of {told} kept are there after kill {number}", texts.len());
            assert!(!acknowledged || texts.last() == Some(&one_bearer("shelf", length).as_str()));
            told = texts.len();
        }
        ines.ends_with(4, &["submit"]);
        assert!(!ines.kept().is_empty());
        yard.comes_back();
        let count = ines.kept().len();
        ines.ends_with(0, &["submit"]);
        assert_eq!(ines.revisions().len(), 1 + count);
    });
}
