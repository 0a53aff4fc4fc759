//! `cargo demo`: the main job once through, with the real server library, the real command code and real gRPC between
//! them. Nothing here knows a figure: the design is a file, the findings are the engine's, the screens are the
//! command's.
//!
//! Each step says with which exit codes it may end; any other stops the demo with exit code 1.

use crate::harness::frames::CURLEW;
use crate::harness::{Served, ServedOptions};
use anyhow::{Context, bail, ensure};
use battenboard_client::{Exit, Screen, run_captured};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// Plays the demo on standard output.
pub fn run() -> ExitCode {
    let mut out = std::io::stdout().lock();
    match play(&mut out) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) if is_closed_pipe(&error) => ExitCode::SUCCESS,
        Err(error) => {
            let _ = writeln!(std::io::stderr(), "the demo stopped: {error:#}");
            ExitCode::FAILURE
        }
    }
}

fn is_closed_pipe(error: &anyhow::Error) -> bool {
    error.downcast_ref::<std::io::Error>().is_some_and(|error| error.kind() == std::io::ErrorKind::BrokenPipe)
}

/// Where the demo is played: people with folders of their own, and what they type is shown before what they read.
struct Stage<'a> {
    out: &'a mut dyn Write,
    folder: PathBuf,
}

impl Stage<'_> {
    fn tell(&mut self, text: &str) -> anyhow::Result<()> {
        writeln!(self.out, "\n== {text}")?;
        Ok(self.out.flush()?)
    }

    /// The folder in which somebody works.
    fn desk(&self, who: &str) -> PathBuf {
        self.folder.join(who)
    }

    /// Runs one command line of somebody and shows both. Ends the demo where it does not end as it should.
    fn types(&mut self, who: &str, arguments: &[&str], wanted: &[Exit]) -> anyhow::Result<Screen> {
        let line: Vec<String> = arguments.iter().map(|argument| quoted(argument)).collect();
        writeln!(self.out, "\n{who}$ batten {}", line.join(" "))?;
        self.out.flush()?;
        let screen = run_captured(arguments, &self.desk(who), &self.folder.join("accounts").join(who), "");
        write!(self.out, "{}{}", screen.stderr, screen.stdout)?;
        self.out.flush()?;
        ensure!(wanted.contains(&screen.exit), "that ended with {:?}, not {wanted:?}", screen.exit);
        Ok(screen)
    }
}

/// An argument as one would type it at a shell.
fn quoted(argument: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || "-_./:".contains(c);
    if !argument.is_empty() && argument.chars().all(plain) { argument.to_owned() } else { format!("'{argument}'") }
}

fn play(out: &mut dyn Write) -> anyhow::Result<()> {
    let fresh = tempfile::Builder::new().prefix("battenboard-demo-").tempdir().context("a fresh folder")?;
    let mut stage = Stage { out, folder: fresh.path().to_path_buf() };
    for who in ["ines", "okoro"] {
        std::fs::create_dir_all(stage.desk(who))?;
        std::fs::write(stage.desk(who).join("password"), "seven planks of larch\n")?;
    }
    std::fs::write(stage.desk("ines").join("frame.toml"), CURLEW)?;

    stage.tell(
        "Saltmarsh Wheels, an invented build group. Ines has drawn Curlew and checks it, without account or server.",
    )?;
    offline(&mut stage)?;
    let options = ServedOptions::in_folder(&fresh.path().join("server"));
    let server = Served::start(&options)?;
    let address = server.address_with_scheme();
    stage.tell(&format!("A server starts in an empty folder, on its embedded database: {address}"))?;
    found_group(&mut stage, &address)?;
    let tags = submit(&mut stage)?;
    stage.tell("Okoro has built two of these. He puts a remark on each of the two members he doubts.")?;
    second_opinion(&mut stage, &tags)?;
    let before = read_back(&mut stage)?;
    stage.tell("The server stops and starts again on the same folder.")?;
    let server_address = server.address();
    server.stop()?;
    let server = Served::start(&options.at(server_address))?;
    let after = read_back(&mut stage)?;
    ensure!(before == after, "what was read back after the restart differs from before");
    stage.tell("Everything reads as before the restart, and the file came back to the letter.")?;
    server.stop()?;
    stage.tell("Two more frames to try:")?;
    writeln!(
        stage.out,
        "batten check --file tests/designs/dunlin.toml\nbatten check --file tests/designs/avocet.toml"
    )?;
    Ok(())
}

fn offline(stage: &mut Stage<'_>) -> anyhow::Result<()> {
    stage.types("ines", &["check"], &[Exit::FallsShort])?;
    let worst = worst_members(stage)?;
    stage.types("ines", &["why", &worst[0]], &[Exit::Holds, Exit::FallsShort])?;
    if let Some((row, stock)) = mend(stage)? {
        stage.types("ines", &["try", &row, &stock], &[Exit::Holds])?;
    }
    Ok(())
}

fn found_group(stage: &mut Stage<'_>, address: &str) -> anyhow::Result<()> {
    let sign_up = ["sign-up", "ines", "--server", address, "--password-file", "password"];
    stage.types("ines", &sign_up, &[Exit::Holds])?;
    stage.types("ines", &["found-group", "saltmarsh-wheels", "--title", "Saltmarsh Wheels"], &[Exit::Holds])?;
    let screen = stage.types("ines", &["let-in", "--as", "reviewer", "--json"], &[Exit::Holds])?;
    let answer: serde_json::Value = serde_json::from_str(&screen.stdout).context("JSON from `let-in --json`")?;
    let code = answer["code"].as_str().context("a one-time code in the answer")?.to_owned();
    let sign_up = ["sign-up", "okoro", "--server", address, "--password-file", "password", "--code", &code];
    stage.types("okoro", &sign_up, &[Exit::Holds])?;
    Ok(())
}

/// Submits, waits for the findings, and gives the tags of the two members that are worked hardest.
fn submit(stage: &mut Stage<'_>) -> anyhow::Result<Vec<String>> {
    stage.types("ines", &["submit", "--note", "first drawing"], &[Exit::Holds, Exit::FallsShort])?;
    stage.types("okoro", &["designs"], &[Exit::Holds])?;
    worst_members(stage)
}

fn second_opinion(stage: &mut Stage<'_>, tags: &[String]) -> anyhow::Result<()> {
    let [first, second] = tags else { bail!("two members are wanted, not {tags:?}") };
    let on = ["--design", "curlew-platform"];
    let remark = ["remark", first, "springy under a knee; mine split at a knot", "--kind", "snag", on[0], on[1]];
    stage.types("okoro", &remark, &[Exit::Holds])?;
    let remark = ["remark", second, "is its end held against lifting?", "--kind", "question", on[0], on[1]];
    stage.types("okoro", &remark, &[Exit::Holds])?;
    stage.types("ines", &["remarks"], &[Exit::Holds])?;
    stage.types("ines", &["answer", "1", "right, a heavier one goes in"], &[Exit::Holds])?;
    stage.types("ines", &["answer", "2", "a screw from below at each end"], &[Exit::Holds])?;
    stage.types("okoro", &["clear", "2", "that will do", on[0], on[1]], &[Exit::Holds])?;
    Ok(())
}

/// Reads back what the server keeps: remarks, revisions, the file. Gives what must be the same at any time.
fn read_back(stage: &mut Stage<'_>) -> anyhow::Result<[String; 2]> {
    let remarks = stage.types("okoro", &["remarks", "--design", "curlew-platform"], &[Exit::Holds])?.stdout;
    stage.types("ines", &["revisions"], &[Exit::Holds])?;
    // The screen says how long ago, which changes; the JSON says when.
    let accounts = stage.folder.join("accounts").join("ines");
    let revisions = run_captured(&["revisions", "--json"], &stage.desk("ines"), &accounts, "").stdout;
    let fetch = ["fetch-file", "A", "--to", "fetched.toml", "--over", "--design", "curlew-platform"];
    stage.types("okoro", &fetch, &[Exit::Holds])?;
    let fetched = std::fs::read_to_string(stage.desk("okoro").join("fetched.toml"))?;
    ensure!(fetched == CURLEW, "the file came back changed");
    Ok([remarks, revisions])
}

/// The findings, from the command's own JSON.
fn findings(stage: &Stage<'_>) -> anyhow::Result<serde_json::Value> {
    let accounts = stage.folder.join("accounts").join("ines");
    let screen = run_captured(&["check", "--json"], &stage.desk("ines"), Path::new(&accounts), "");
    serde_json::from_str(&screen.stdout).context("JSON from `check --json`")
}

/// What would mend the worst: the row of members it is in, and the stock they would need.
fn mend(stage: &Stage<'_>) -> anyhow::Result<Option<(String, String)>> {
    let findings = findings(stage)?;
    let worst = &findings["checks"][0];
    let row = worst["tag"].as_str().unwrap_or_default().trim_end_matches(|c: char| c.is_ascii_digit());
    Ok(worst["mend"]["to_stock"].as_str().map(|stock| (format!("{row}*"), stock.to_owned())))
}

/// Tags of the two members that are worked hardest.
fn worst_members(stage: &Stage<'_>) -> anyhow::Result<Vec<String>> {
    let findings = findings(stage)?;
    let checks = findings["checks"].as_array().context("checks in the findings")?;
    let mut tags: Vec<String> = Vec::new();
    // Checks stand worst first.
    for check in checks.iter().filter(|check| check["member_kind"] != "deck") {
        let tag = check["tag"].as_str().unwrap_or_default();
        if tags.len() < 2 && !tags.iter().any(|known| known == tag) {
            tags.push(tag.to_owned());
        }
    }
    ensure!(tags.len() == 2, "the findings name fewer than two members");
    Ok(tags)
}
