//! A client in another language, made from reflection alone, walks the whole job and agrees with the command.

use battenboard_tests::harness::{Database, DatabaseKind, ServerProcess};
use battenboard_tests::verify::not_run;
use std::path::Path;
use std::process::Command;

/// Names a Python interpreter that has the packages of `foreign/requirements.txt`.
const PYTHON: &str = "BATTENBOARD_TEST_PYTHON";

#[test]
fn a_client_made_from_reflection_walks_the_whole_job() {
    let Some(python) = std::env::var_os(PYTHON) else {
        not_run("foreign client", "whole_job");
        return;
    };
    let folder = tempfile::tempdir().unwrap();
    let tests = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut server = None;
    for design in ["curlew", "dunlin", "avocet"] {
        let file = tests.join("designs").join(format!("{design}.toml"));
        let offline = Command::new(env!("CARGO_BIN_EXE_battenboard"))
            .args(["batten", "check", "--json", "--file"])
            .arg(&file)
            .env("BATTEN_CONFIG_DIR", folder.path())
            .output()
            .unwrap();
        let findings = folder.path().join(format!("{design}.json"));
        std::fs::write(&findings, &offline.stdout).unwrap();
        // A fresh server for each: the script makes the first account.
        let database = Database::fresh(DatabaseKind::Sqlite);
        let process = ServerProcess::start(env!("CARGO_BIN_EXE_battenboard"), &database);
        let address = process.address().to_owned();
        let run = Command::new(&python)
            .arg(tests.join("foreign/whole_job.py"))
            .arg(&address)
            .arg(&file)
            .arg(&findings)
            .env("PYTHONDONTWRITEBYTECODE", "1")
            .output()
            .unwrap();
        let said = format!("{}{}", String::from_utf8_lossy(&run.stdout), String::from_utf8_lossy(&run.stderr));
        assert!(run.status.success() && said.contains("the whole job, read back"), "{design}:\n{said}");
        server = Some((database, process));
    }
    drop(server);
}

#[test]
fn a_client_made_from_reflection_plays_the_second_opinion() {
    let Some(python) = std::env::var_os(PYTHON) else {
        not_run("foreign client", "second_opinion");
        return;
    };
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("foreign/second_opinion.py");
    let database = Database::fresh(DatabaseKind::Sqlite);
    let process = ServerProcess::start(env!("CARGO_BIN_EXE_battenboard"), &database);
    let run = Command::new(&python).arg(script).arg(process.address()).env("PYTHONDONTWRITEBYTECODE", "1").output();
    let run = run.unwrap();
    let said = format!("{}{}", String::from_utf8_lossy(&run.stdout), String::from_utf8_lossy(&run.stderr));
    assert!(run.status.success() && said.contains("the whole story, read back"), "{said}");
}
