//! The command as a process: exit codes, pipes, plain output.

use battenboard_tests::harness::frames::{one_bearer, one_bearer_weighed};
use battenboard_tests::harness::{Database, DatabaseKind, ServerProcess};
use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};

/// Somebody with a folder of his own, at a shell.
pub struct Desk<'a> {
    pub folder: &'a Path,
    pub name: &'a str,
}

impl Desk<'_> {
    fn command(&self, arguments: &[&str]) -> Command {
        let home = self.folder.join(self.name);
        std::fs::create_dir_all(&home).unwrap();
        let mut command = Command::new(env!("CARGO_BIN_EXE_battenboard"));
        command.arg("batten").args(arguments).current_dir(&home).env("BATTEN_CONFIG_DIR", home.join("config"));
        command.env("TZ", "UTC");
        command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
        command
    }

    fn run(&self, arguments: &[&str]) -> Output {
        self.command(arguments).output().unwrap()
    }

    /// Runs a command line that must end with this exit code; gives what it said.
    #[track_caller]
    pub fn ends_with(&self, exit: i32, arguments: &[&str]) -> String {
        let output = self.run(arguments);
        let said = format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
        assert_eq!(output.status.code(), Some(exit), "batten {}\n{said}", arguments.join(" "));
        assert!(!said.contains('\u{1b}'), "colour in a pipe: {said:?}");
        said
    }

    pub fn writes(&self, file: &str, text: &str) {
        let home = self.folder.join(self.name);
        std::fs::create_dir_all(&home).unwrap();
        std::fs::write(home.join(file), text).unwrap();
    }
}

#[test]
fn exit_codes_tell_answers_apart_without_a_server() {
    let folder = tempfile::tempdir().unwrap();
    let desk = Desk { folder: folder.path(), name: "ines" };
    let designs = Path::new(env!("CARGO_MANIFEST_DIR")).join("designs");
    let design = |name: &str| designs.join(name).to_string_lossy().into_owned();
    desk.ends_with(0, &["check", "--file", &design("dunlin.toml")]);
    desk.ends_with(1, &["check", "--file", &design("curlew.toml")]);
    let loose = one_bearer("shelf", 800.0).replace("hold = \"seated\"", "hold = { z = \"rigid\" }");
    desk.writes("loose.toml", &loose);
    desk.ends_with(2, &["check", "--file", "loose.toml"]);
    desk.writes("wrong.toml", "format = 1\nname = 3\n");
    desk.ends_with(3, &["check", "--file", "wrong.toml"]);
    desk.ends_with(3, &["check", "--file", "not-there.toml"]);
    desk.ends_with(3, &["no-such-verb"]);
    desk.ends_with(3, &["why", "Z9", "--file", &design("dunlin.toml")]);
    desk.ends_with(0, &["--help"]);
    desk.ends_with(0, &["--version"]);
    desk.ends_with(3, &["revisions"]);
}

#[test]
fn exit_codes_tell_answers_apart_at_a_server() {
    let folder = tempfile::tempdir().unwrap();
    let database = Database::fresh(DatabaseKind::Sqlite);
    let server = ServerProcess::start(env!("CARGO_BIN_EXE_battenboard"), &database);
    let address = server.address_with_scheme();
    let ines = Desk { folder: folder.path(), name: "ines" };
    let maarit = Desk { folder: folder.path(), name: "maarit" };
    for desk in [&ines, &maarit] {
        desk.writes("password", "seven planks of larch\n");
        desk.writes("frame.toml", &one_bearer("shelf", 800.0));
    }
    let dead = "http://127.0.0.1:1";
    ines.ends_with(5, &["revisions", "--server", &address]);
    ines.ends_with(4, &["sign-up", "ines", "--server", dead, "--password-file", "password"]);
    ines.ends_with(0, &["sign-up", "ines", "--server", &address, "--password-file", "password"]);
    ines.ends_with(0, &["found-group", "saltmarsh-wheels"]);
    ines.ends_with(0, &["submit", "--note", "first"]);
    let code = ines.ends_with(0, &["let-in", "--as", "builder", "--json"]);
    let code: serde_json::Value = serde_json::from_str(&code).unwrap();
    let code = code["code"].as_str().expect("a code in the answer").to_owned();
    maarit.ends_with(5, &["sign-up", "maarit", "--server", &address, "--password-file", "password"]);
    maarit.ends_with(0, &["sign-up", "maarit", "--server", &address, "--password-file", "password", "--code", &code]);
    maarit.ends_with(5, &["let-in"]);
    maarit.writes("frame.toml", &one_bearer("shelf", 900.0));
    maarit.ends_with(0, &["submit", "--worked-from", "A"]);
    ines.writes("frame.toml", &one_bearer("shelf", 950.0));
    let said = ines.ends_with(6, &["submit"]);
    assert!(said.contains("maarit") && said.contains('B'), "{said}");
    drop(server);
    ines.ends_with(4, &["revisions"]);
}

#[test]
fn a_closed_pipe_is_a_quiet_end() {
    let folder = tempfile::tempdir().unwrap();
    let desk = Desk { folder: folder.path(), name: "ines" };
    let design = Path::new(env!("CARGO_MANIFEST_DIR")).join("designs/curlew.toml").to_string_lossy().into_owned();
    let mut child = desk.command(&["check", "--table", "--json", "--file", &design]).spawn().unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(!said.contains("panicked"), "{said}");
    assert!(output.status.code().is_some(), "ended by a signal");
}

#[test]
fn a_password_is_never_an_argument_and_may_come_from_a_pipe() {
    let folder = tempfile::tempdir().unwrap();
    let database = Database::fresh(DatabaseKind::Sqlite);
    let server = ServerProcess::start(env!("CARGO_BIN_EXE_battenboard"), &database);
    let address = server.address_with_scheme();
    let desk = Desk { folder: folder.path(), name: "ines" };
    desk.ends_with(3, &["sign-up", "ines", "--server", &address, "--password", "seven planks of larch"]);
    let arguments = ["sign-up", "ines", "--server", &address, "--password-file", "-"];
    let mut child = desk.command(&arguments).stdin(Stdio::piped()).spawn().unwrap();
    child.stdin.take().unwrap().write_all(b"seven planks of larch\n").unwrap();
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    desk.ends_with(0, &["account"]);
    desk.ends_with(0, &["sign-out"]);
    desk.ends_with(5, &["account", "sessions"]);
}

#[test]
fn json_of_check_has_its_documented_shape() {
    let folder = tempfile::tempdir().unwrap();
    let desk = Desk { folder: folder.path(), name: "ines" };
    let design = Path::new(env!("CARGO_MANIFEST_DIR")).join("designs/avocet.toml").to_string_lossy().into_owned();
    let said = desk.ends_with(0, &["check", "--json", "--file", &design]);
    let value: serde_json::Value = serde_json::from_str(&said).unwrap();
    let findings = value.get("findings").unwrap_or(&value);
    assert_eq!(findings["shape"], battenboard_engine::findings::SHAPE);
    for field in ["verdict", "checks", "not_checked", "weight", "assumptions", "shares", "combinations", "results"] {
        assert!(!findings[field].is_null(), "`{field}` is missing");
    }
    // In full precision: what is read back is the engine's own number, bit for bit.
    let read: battenboard_engine::findings::Findings = serde_json::from_value(findings.clone()).unwrap();
    let text = std::fs::read_to_string(&design).unwrap();
    let frame = battenboard_engine::design::Frame::new(&battenboard_designfile::read(&text).unwrap().design).unwrap();
    let ask = battenboard_engine::Ask { results: true, mends: true };
    let own = battenboard_engine::check(&frame, ask, &|| false).unwrap();
    assert_eq!(read, own);
}

#[test]
fn the_demo_plays_to_its_end() {
    let output = Command::new(env!("CARGO_BIN_EXE_battenboard")).arg("demo").output().unwrap();
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    let errors = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success(), "{said}\n{errors}");
    for part in
        ["ines$ batten submit", "okoro$ batten remark", "ines$ batten answer", "okoro$ batten clear", "Falls short."]
    {
        assert!(said.contains(part), "`{part}` is missing:\n{said}");
    }
    let widest = said.lines().map(|line| line.chars().count()).max().unwrap_or_default();
    assert!(widest <= 120, "a line of {widest} columns");
}

#[test]
fn a_design_started_after_anothers_revision_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let database = Database::fresh(DatabaseKind::Sqlite);
    let server = ServerProcess::start(env!("CARGO_BIN_EXE_battenboard"), &database);
    let address = server.address_with_scheme();
    let ines = Desk { folder: folder.path(), name: "ines" };
    ines.writes("password", "seven planks of larch\n");
    ines.writes("frame.toml", &format!("# my own words\n{}", one_bearer("shelf", 800.0)));
    ines.ends_with(0, &["sign-up", "ines", "--server", &address, "--password-file", "password"]);
    ines.ends_with(0, &["found-group", "saltmarsh-wheels"]);
    ines.ends_with(0, &["submit"]);
    // What can't be done says what can.
    let of = ["--file", "bench.toml"];
    let start =
        |after: &'static str, name: &'static str| [&["start", "--after", after, "--name", name][..], &of].concat();
    assert!(ines.ends_with(3, &["start", "--after", "shelf", "--file", "bench.toml"]).contains("--name"));
    ines.ends_with(3, &[&start("shelf", "bench")[..], &["--what", "settle"]].concat());
    assert!(ines.ends_with(3, &start("shelf", "Bench")).contains("small letters"));
    ines.ends_with(3, &["start", "--letter", "A", "--name", "bench"]);
    assert!(ines.ends_with(3, &start("shelf", "shelf")).contains("a name of its own"));
    ines.ends_with(3, &["start", "--after", "shelf", "--name", "bench"]);
    let unknown: [&[&str]; 4] =
        [&["no-such"], &["shelf", "--letter", "B"], &["shelf", "--letter", "1"], &["shelf", "--group", "elsewhere"]];
    for unknown in unknown {
        let said = ines.ends_with(3, &[&["start", "--name", "bench", "--after"], unknown, &of].concat());
        assert!(said.contains("no ") || said.contains("letter"), "{said}");
    }
    assert!(!folder.path().join("ines/bench.toml").exists(), "a refused start leaves no file");
    let said = ines.ends_with(0, &start("shelf", "bench"));
    assert!(said.contains("drawn after shelf A (saltmarsh-wheels)"), "{said}");
    let text = std::fs::read_to_string(folder.path().join("ines/bench.toml")).unwrap();
    assert_eq!(text, format!("# my own words\n{}", one_bearer("bench", 800.0)));
    // The first submit tells it, and no later one.
    let said = ines.ends_with(0, &[&["submit"][..], &of].concat()).replace('\n', " ");
    assert!(said.contains("it will be revision A, drawn after shelf A"), "{said}");
    ines.writes("bench.toml", &one_bearer("bench", 850.0));
    ines.ends_with(0, &[&["submit"][..], &of].concat());
    let list = ines.ends_with(0, &["designs"]);
    let list = list.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(list.contains("drawn after shelf A"), "{list}");
    let list = ines.ends_with(0, &[&["revisions"][..], &of].concat()).replace('\n', " ");
    assert!(list.contains("newest first; drawn after shelf A"), "{list}");
    let json: serde_json::Value =
        serde_json::from_str(&ines.ends_with(0, &[&["revisions", "--json"][..], &of].concat())).unwrap();
    assert_eq!(json["drawn_after"]["letter"], "A");
    assert_eq!(json["revisions"].as_array().unwrap().len(), 2);
    // A source that can't be told is left out on request.
    ines.ends_with(0, &["start", "--after", "shelf", "--name", "third", "--file", "third.toml"]);
    ines.ends_with(0, &["submit", "--file", "third.toml", "--forget-source"]);
    let json: serde_json::Value = serde_json::from_str(&ines.ends_with(0, &["designs", "--json"])).unwrap();
    let third = json["designs"].as_array().unwrap().iter().find(|it| it["design"] == "third").unwrap();
    assert!(third["drawn_after"].is_null(), "{third}");
}

#[test]
fn surveys_go_from_the_file_to_the_group_and_back_into_another_file() {
    let folder = tempfile::tempdir().unwrap();
    let database = Database::fresh(DatabaseKind::Sqlite);
    let server = ServerProcess::start(env!("CARGO_BIN_EXE_battenboard"), &database);
    let address = server.address_with_scheme();
    let ines = Desk { folder: folder.path(), name: "ines" };
    let spaced = |said: String| said.split_whitespace().collect::<Vec<_>>().join(" ");
    ines.writes("password", "seven planks of larch\n");
    let shelf = format!("# my own words\n{}", one_bearer_weighed("shelf", 800.0));
    let vehicle = battenboard_designfile::read(&shelf).unwrap().design.vehicle.name;
    ines.writes("frame.toml", &shelf);
    ines.ends_with(0, &["sign-up", "ines", "--server", &address, "--password-file", "password"]);
    ines.ends_with(0, &["found-group", "saltmarsh-wheels"]);
    assert!(ines.ends_with(0, &["vehicles", "--group", "saltmarsh-wheels"]).contains("None was surveyed yet"));
    ines.ends_with(0, &["submit"]);
    let said = ines.ends_with(0, &["survey"]);
    assert!(said.contains("Nothing changed: it says what survey 1 says"), "{said}");
    // Measured again, by another file.
    ines.writes("again.toml", &shelf.replace("wheelbase = 4035", "wheelbase = 4000"));
    let again = ["--file", "again.toml", "--group", "saltmarsh-wheels"];
    let said = spaced(ines.ends_with(0, &[&["survey", "--note", "with a steel tape"][..], &again].concat()));
    assert!(said.contains("Recorded as survey 2") && said.contains("with a steel tape"), "{said}");
    let list: serde_json::Value = serde_json::from_str(&ines.ends_with(0, &["vehicles", "--json"])).unwrap();
    assert_eq!((&list["vehicles"][0]["vehicle"], &list["vehicles"][0]["latest_survey"]), (&vehicle.into(), &2.into()));
    let said = spaced(ines.ends_with(0, &["revisions"]));
    assert!(said.contains("drawn on survey 1; survey 2 of "), "{said}");
    let said = spaced(ines.ends_with(0, &["vehicle"]));
    assert!(said.contains("with a steel tape"), "{said}");
    // Into the first file, and nothing else of it.
    let said = spaced(ines.ends_with(0, &["survey", "--take"]));
    assert!(said.contains("wheelbase: 4035 -> 4000"), "{said}");
    let text = std::fs::read_to_string(folder.path().join("ines/frame.toml")).unwrap();
    assert_eq!(text, shelf.replace("wheelbase = 4035", "wheelbase = 4000").replace("survey = 1", "survey = 2"));
    assert!(ines.ends_with(0, &["survey", "--take"]).contains("Nothing changed"));
    ines.ends_with(0, &["submit"]);
    let list: serde_json::Value = serde_json::from_str(&ines.ends_with(0, &["revisions", "--json"])).unwrap();
    assert_eq!(list["revisions"][0]["drawn_on"]["survey"], 2, "{list}");
    // What can't be done says what can.
    assert!(ines.ends_with(3, &["survey", "Dunlin"]).contains("--take"));
    assert!(ines.ends_with(3, &["survey", "Dunlin", "--take"]).contains("no vehicle `Dunlin`"));
}
