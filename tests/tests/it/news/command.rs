//! `batten news` and `batten listen`, as somebody at a shell meets them.

use battenboard_client::{Exit, Screen, run_captured};
use battenboard_proto::v1;
use battenboard_tests::harness::frames::one_bearer;
use battenboard_tests::harness::{Actor, Database, DatabaseKind, GROUP, Served, ServedOptions, block_on};
use std::io::{BufRead, BufReader, Read};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc;
use std::time::Duration;

struct Desk(PathBuf);

impl Desk {
    #[track_caller]
    fn types(&self, arguments: &[&str]) -> String {
        let Screen { stdout, stderr, exit } = run_captured(arguments, &self.0, &self.0.join("config"), "");
        assert_eq!(exit, Exit::Holds, "{stdout}{stderr}");
        assert!(stdout.lines().all(|line| line.chars().count() <= 80), "{stdout}");
        stdout
    }
}

/// `batten listen --json` as a process; ended when dropped.
///
/// What is told and what is said beside it come through two pipes: nothing is sure of the order between them.
struct Listening {
    child: Child,
    told: mpsc::Receiver<String>,
    beside: mpsc::Receiver<String>,
}

impl Listening {
    fn at(desk: &Path) -> Self {
        let mut command = Command::new(env!("CARGO_BIN_EXE_battenboard"));
        command.args(["batten", "listen", "--json"]).current_dir(desk).env("BATTEN_CONFIG_DIR", desk.join("config"));
        command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().unwrap();
        let (told, beside) = (lines_of(child.stdout.take().unwrap()), lines_of(child.stderr.take().unwrap()));
        Self { child, told, beside }
    }

    /// Waits for a line of news that holds this; gives it.
    #[track_caller]
    fn tells(&self, part: &str) -> String {
        wait_for(&self.told, part)
    }

    /// Waits for a line beside the news that holds this.
    #[track_caller]
    fn says(&self, part: &str) {
        wait_for(&self.beside, part);
    }
}

impl Drop for Listening {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn lines_of(pipe: impl Read + Send + 'static) -> mpsc::Receiver<String> {
    let (tell, lines) = mpsc::channel();
    std::thread::spawn(move || {
        BufReader::new(pipe).lines().map_while(Result::ok).for_each(|line| {
            let _ = tell.send(line);
        });
    });
    lines
}

#[track_caller]
fn wait_for(lines: &mpsc::Receiver<String>, part: &str) -> String {
    let mut heard = String::new();
    loop {
        match lines.recv_timeout(Duration::from_secs(60)) {
            Ok(line) if line.contains(part) => return line,
            Ok(line) => heard.push_str(&format!("{line}\n")),
            Err(_) => panic!("`{part}` did not come:\n{heard}"),
        }
    }
}

#[test]
fn news_are_read_once_and_heard_across_an_ended_token_and_a_restart() {
    let database = Database::fresh(DatabaseKind::Sqlite);
    let mut options = ServedOptions::on(&database);
    options.config.lifetimes.access_s = 8;
    let served = Served::start(&options).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let desk = Desk(folder.path().to_owned());
    std::fs::write(desk.0.join("password"), "seven planks of larch, 4\n").unwrap();
    let (ines, code) = block_on(async {
        let ines = Actor::stranger(served.channel().await.unwrap()).makes_account("ines", None).await.unwrap();
        ines.founds(GROUP).await.unwrap();
        ines.submits(GROUP, "shelf", &one_bearer("shelf", 800.0), "").await.unwrap();
        let code = ines.invites(GROUP, v1::Right::Reviewer).await.unwrap();
        (ines, code)
    });
    let server = served.address_with_scheme();
    desk.types(&["sign-up", "okoro", "--server", &server, "--password-file", "password", "--code", &code]);
    let said = desk.types(&["news"]);
    assert!(said.starts_with("The last news:"), "{said}");
    assert!(
        said.contains("  ines founded saltmarsh-wheels\n") && said.contains("  ines submitted shelf A\n"),
        "{said}"
    );
    assert!(said.contains("  the crew changed: okoro\n"), "{said}");
    let said = desk.types(&["news"]);
    assert_eq!(said, "Nothing new; you last looked just now.\n");

    let address = served.address();
    let remarks = |served: &Served, who: &Actor, text: &str| {
        block_on(async {
            let who = who.through(served.channel().await.unwrap()).signs_in().await.unwrap();
            who.remarks_on(GROUP, "shelf", "B1", text).await.unwrap();
        });
    };
    remarks(&served, &ines, "missed");
    let listening = Listening::at(&desk.0);
    listening.says("listening as okoro");
    let line: serde_json::Value = serde_json::from_str(&listening.tells("remark_made")).unwrap();
    assert_eq!((&line["actor"], &line["design"], &line["remark_number"]), (&"ines".into(), &"shelf".into(), &1.into()));
    remarks(&served, &ines, "live");
    listening.tells("\"remark_number\":2");
    served.stop().unwrap();
    listening.says("the server is away");
    let served = Served::start(&options.at(address)).unwrap();
    remarks(&served, &ines, "after the restart");
    listening.says("the server is back");
    listening.tells("\"remark_number\":3");
    // Past the end of every token so far: renewed and gone on with, without a word.
    std::thread::sleep(Duration::from_secs(9));
    remarks(&served, &ines, "with the next token");
    let line: serde_json::Value = serde_json::from_str(&listening.tells("")).unwrap();
    assert_eq!(line["remark_number"], 4, "the next line of all");
    assert_eq!(listening.beside.try_iter().collect::<String>(), "", "nothing was said beside it");
    // What it has told it then writes down: whoever is killed in between is told twice rather than not at all.
    std::thread::sleep(Duration::from_secs(1));
    drop(listening);

    assert!(desk.types(&["news"]).starts_with("Nothing new"), "what was heard is not told again");
    remarks(&served, &ines, "unheard");
    let said = desk.types(&["news", "--json"]);
    let said: serde_json::Value = serde_json::from_str(&said).unwrap();
    assert_eq!(said["events"].as_array().map(Vec::len), Some(1), "{said}");
    assert_eq!(said["events"][0]["remark_number"], 5);
    let said = desk.types(&["news", "--all"]);
    assert!(said.starts_with("All news that are kept:") && said.matches(" remarked on shelf A").count() == 5, "{said}");
    // A place that the server does not know: told, and begun anew.
    let file = desk.0.join("config/news.json");
    let text = std::fs::read_to_string(&file).unwrap();
    let kept: serde_json::Value = serde_json::from_str(&text).unwrap();
    let cursor = kept[format!("http://{address}")]["okoro"]["cursor"].as_str().expect("a kept cursor").to_owned();
    std::fs::write(&file, text.replace(&cursor, "00")).unwrap();
    let screen = run_captured(&["news"], &desk.0, &desk.0.join("config"), "");
    assert_eq!(screen.exit, Exit::Holds);
    assert!(screen.stdout.starts_with("The last news:"), "{}", screen.stdout);
    assert!(screen.stderr.contains("not a cursor"), "{}", screen.stderr);
    served.stop().unwrap();
}
