//! A server with a certificate of its own, joined by its line with the real command, and what is refused on the way.

use crate::command::Desk;
use battenboard_proto::v1;
use battenboard_tests::harness::frames::one_bearer;
use battenboard_tests::harness::{Actor, Database, DatabaseKind, ServerProcess, block_on};
use battenboard_tests::verify::not_run;
use std::path::Path;
use tonic::transport::{Certificate, Channel, ClientTlsConfig, Endpoint};

const PASSWORD: &str = "seven planks of larch\n";

fn start(database: &Database, listen: &str) -> ServerProcess {
    let program = env!("CARGO_BIN_EXE_battenboard");
    ServerProcess::start_with(program, database, listen, &["--reached-at", "127.0.0.1"])
}

fn desk<'a>(folder: &'a Path, name: &'a str) -> Desk<'a> {
    let desk = Desk { folder, name };
    desk.writes("password", PASSWORD);
    desk.writes("frame.toml", &one_bearer("shelf", 800.0));
    desk
}

/// The words after `batten` of a line that the server or the command printed.
fn joining(line: &str, name: &str) -> Vec<String> {
    let words = line.split_whitespace().skip(1).chain(["--name", name, "--password-file", "password"]);
    words.map(str::to_owned).collect()
}

fn ends_with(desk: &Desk<'_>, exit: i32, words: &[String]) -> String {
    desk.ends_with(exit, &words.iter().map(String::as_str).collect::<Vec<_>>())
}

#[test]
fn two_people_join_by_their_lines_and_work_over_tls() {
    for kind in DatabaseKind::ALL {
        if !kind.is_here() {
            not_run("postgres", "join two people");
            continue;
        }
        let folder = tempfile::tempdir().unwrap();
        let database = Database::fresh(kind);
        let server = start(&database, "0.0.0.0:0");
        let line = server.line_with("batten join ").expect("a joining line");
        assert_eq!(server.said().matches("batten join ").count(), 1, "one line: {}", server.said());
        let ines = desk(folder.path(), "ines");
        let said = ends_with(&ines, 0, &joining(&line, "ines"));
        assert!(said.contains("Account ines made at https://127.0.0.1:") && said.contains("recover ines"), "{said}");
        ines.ends_with(0, &["found-group", "saltmarsh-wheels"]);
        ines.ends_with(0, &["submit", "--note", "first"]);
        let line = ines.ends_with(0, &["let-in", "--as", "reviewer"]);
        let line = line.lines().find(|line| line.starts_with("batten join ")).expect("a joining line").to_owned();
        let okoro = desk(folder.path(), "okoro");
        let said = ends_with(&okoro, 0, &joining(&line, "okoro"));
        assert!(said.contains("You are in the build group saltmarsh-wheels"), "{said}");
        okoro.ends_with(0, &["remark", "B1", "springy under a knee", "--kind", "snag", "--design", "shelf"]);
        let said = ines.ends_with(0, &["remarks"]);
        assert!(said.contains("springy under a knee") && said.contains("okoro"), "{said}");
        // The code of each line was good once.
        let maarit = desk(folder.path(), "maarit");
        ends_with(&maarit, 5, &joining(&line, "maarit"));
        // Who has an account already enters with the next line, and needs no other name.
        ines.ends_with(0, &["found-group", "dunlin-crew"]);
        let line = ines.ends_with(0, &["let-in", "--group", "dunlin-crew"]);
        let words: Vec<String> = line.lines().next().unwrap().split_whitespace().skip(1).map(str::to_owned).collect();
        let said = ends_with(&okoro, 0, &words);
        assert!(said.contains("dunlin-crew"), "{said}");
    }
}

#[test]
fn a_wrong_fingerprint_a_plain_caller_and_a_caller_without_the_line_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let database = Database::fresh(DatabaseKind::Sqlite);
    let server = start(&database, "0.0.0.0:0");
    let line = server.line_with("batten join ").expect("a joining line");
    let (address, rest) = line.trim_start_matches("batten join ").split_once('/').unwrap();
    let (fingerprint, code) = rest.split_once('/').unwrap();
    let ines = desk(folder.path(), "ines");
    let first = if fingerprint.starts_with('0') { '1' } else { '0' };
    let other = format!("batten join {address}/{first}{}/{code}", &fingerprint[1..]);
    let said = ends_with(&ines, 4, &joining(&other, "ines"));
    assert!(said.contains("another certificate") && said.contains("nothing was sent"), "{said}");
    assert!(said.contains(fingerprint), "the one shown is told: {said}");
    assert!(!said.contains("larch") && !ines.folder.join("ines/config/accounts.json").exists());
    // Without the line nobody vouches for the certificate; in the clear there is no answer.
    let sign_in =
        |server: &str| ["sign-in", "ines", "--password-file", "password", "--server", server].map(str::to_owned);
    let said = ends_with(&ines, 4, &sign_in(&format!("https://{address}")));
    assert!(said.contains("vouches") && said.contains("batten join LINE"), "{said}");
    ends_with(&ines, 4, &sign_in(&format!("http://{address}")));
    block_on(async {
        let plain = Endpoint::from_shared(format!("http://{address}")).unwrap().connect_lazy();
        assert!(info(plain).await.is_err(), "a plain caller was answered");
    });
    // The right line, and then the open way is refused by the command itself.
    ends_with(&ines, 0, &joining(&line, "ines"));
    let said = ends_with(&ines, 3, &sign_in(&format!("http://{address}")));
    assert!(said.contains(&format!("--server https://{address}")), "{said}");
    drop(server);
}

#[test]
fn a_changed_certificate_is_refused_until_the_host_says_it_is_right() {
    let folder = tempfile::tempdir().unwrap();
    let database = Database::fresh(DatabaseKind::Sqlite);
    let mut server = start(&database, "0.0.0.0:0");
    let ines = desk(folder.path(), "ines");
    ends_with(&ines, 0, &joining(&server.line_with("batten join ").unwrap(), "ines"));
    let listen = server.address().replace("127.0.0.1", "0.0.0.0");
    server.stop(std::time::Duration::from_secs(20)).expect("a server that stops");
    // The same certificate after a restart: nothing to say.
    let mut server = start(&database, &listen);
    ines.ends_with(0, &["account"]);
    let known = server.line_with("batten join ").unwrap();
    assert_eq!(known.matches('/').count(), 1, "no code once there is an account: {known}");
    server.stop(std::time::Duration::from_secs(20)).expect("a server that stops");
    std::fs::remove_dir_all(database.folder().join("certificate")).unwrap();
    let server = start(&database, &listen);
    let anew = server.line_with("batten join ").unwrap();
    assert_ne!(anew, known);
    let said = ines.ends_with(4, &["account"]);
    let (_, fingerprint) = anew.split_once('/').unwrap();
    for part in ["another certificate", "nothing was sent", "Ask its host", fingerprint] {
        assert!(said.contains(part), "`{part}` is missing: {said}");
    }
    // The host says it is right: the line takes the new certificate, and the session goes on.
    let words: Vec<String> = anew.split_whitespace().skip(1).map(str::to_owned).collect();
    let said = ends_with(&ines, 0, &words);
    assert!(
        said.contains("known by another certificate until now") && said.contains("signed in there as ines"),
        "{said}"
    );
    ines.ends_with(0, &["account"]);
}

#[test]
fn a_program_that_is_given_the_certificate_needs_no_line() {
    let database = Database::fresh(DatabaseKind::Sqlite);
    let server = start(&database, "0.0.0.0:0");
    let pem = std::fs::read_to_string(database.folder().join("certificate/certificate.pem")).unwrap();
    block_on(async {
        for name in ["127.0.0.1", "localhost"] {
            let tls = ClientTlsConfig::new().ca_certificate(Certificate::from_pem(&pem)).domain_name(name);
            let endpoint = Endpoint::from_shared(format!("https://{}", server.address())).unwrap();
            let channel = endpoint.tls_config(tls).unwrap().connect().await.unwrap();
            let mode = info(channel).await.unwrap().sign_up_mode;
            assert_eq!(mode, i32::from(v1::SignUpMode::FirstCode));
        }
    });
}

async fn info(channel: Channel) -> Result<v1::GetServerInfoResponse, tonic::Status> {
    let stranger = Actor::stranger(channel);
    Ok(stranger.server_info().get_server_info(v1::GetServerInfoRequest {}).await?.into_inner())
}
