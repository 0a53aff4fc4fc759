//! What the host does at the machine while the server runs: accounts, suspending, reset codes, signing keys.

use battenboard_proto::v1;
use battenboard_tests::harness::{Actor, Bench, Database, DatabaseKind, on_both, refused};
use std::process::Command;
use std::time::Duration;
use tonic::{Code, Status};

/// Runs the server's program with a host's command; gives its exit code and what it said.
fn host(database: &Database, arguments: &[&str]) -> (i32, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_battenboard"));
    command.arg("host").args(arguments).arg("--data-folder").arg(database.folder());
    if let Some(url) = database.url() {
        command.env("BATTENBOARD_DATABASE", url);
    }
    let output = command.output().unwrap();
    let said = format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    (output.status.code().unwrap_or(-1), said)
}

#[track_caller]
fn done(database: &Database, arguments: &[&str]) -> String {
    let (exit, said) = host(database, arguments);
    assert_eq!(exit, 0, "{arguments:?}: {said}");
    said
}

async fn mine(actor: &Actor) -> Result<(), Status> {
    actor.accounts().get_account(v1::GetAccountRequest {}).await.map(|_| ())
}

async fn refresh(actor: &Actor) -> Result<v1::Tokens, Status> {
    let refresh_token = actor.tokens.as_ref().unwrap().refresh_token.clone();
    let request = v1::RefreshSessionRequest { refresh_token };
    Ok(actor.accounts().refresh_session(request).await?.into_inner().tokens.unwrap())
}

async fn recover(stranger: &Actor, name: &str, code: &str, new: &str) -> Result<v1::RecoverAccountResponse, Status> {
    let request = v1::RecoverAccountRequest { name: name.into(), code: code.into(), new_password: new.into() };
    Ok(stranger.accounts().recover_account(request).await?.into_inner())
}

#[test]
fn a_suspended_account_is_refused_within_two_seconds_and_comes_back_when_that_is_lifted() {
    on_both("host suspend", async |bench: &mut Bench| {
        let crew = bench.saltmarsh().await;
        let okoro = &crew.okoro;
        mine(okoro).await.unwrap();
        assert!(done(bench.database(), &["suspend", "okoro"]).contains("okoro is suspended"));
        bench.until_cache_is_stale().await;
        refused(mine(okoro).await, Code::Unauthenticated);
        refused(refresh(okoro).await, Code::Unauthenticated);
        let suspended = refused(okoro.signs_in().await, Code::Unauthenticated);
        let wrong = v1::SignInRequest { name: "okoro".into(), password: "the tide was out at ten".into() };
        let wrong = refused(bench.stranger().accounts().sign_in(wrong).await, Code::Unauthenticated);
        assert_eq!(suspended.message(), wrong.message(), "the answer tells a stranger who is suspended");
        mine(&crew.ines).await.unwrap();
        let listed = done(bench.database(), &["accounts"]);
        let line = |name: &str| listed.lines().find(|line| line.starts_with(name)).unwrap().to_owned();
        assert!(line("okoro").contains("suspended 20") && line("okoro").contains("  0 sessions"), "{listed}");
        assert!(!line("ines").contains("suspended") && line("ines").contains("  1 session"), "{listed}");
        assert!(listed.contains("3 accounts"), "{listed}");
        let (exit, said) = host(bench.database(), &["reset", "okoro"]);
        assert!(exit == 1 && said.contains("is suspended"), "{said}");
        assert!(done(bench.database(), &["suspend", "okoro", "--lift"]).contains("may sign in again"));
        assert!(done(bench.database(), &["suspend", "okoro", "--lift"]).contains("is not suspended"));
        let back = okoro.signs_in().await.unwrap();
        mine(&back).await.unwrap();
        bench.until_cache_is_stale().await;
        refused(mine(okoro).await, Code::Unauthenticated);
    });
}

#[test]
fn a_reset_code_of_the_host_sets_a_new_password_once() {
    on_both("host reset", async |bench: &mut Bench| {
        let ines = bench.first_account("ines").await;
        let stranger = bench.stranger();
        let code = || done(bench.database(), &["reset", "ines"]).lines().next().unwrap().to_owned();
        let (former, good) = (code(), code());
        refused(recover(&stranger, "ines", &former, "a new roof of cedar").await, Code::Unauthenticated);
        let back = recover(&stranger, "ines", &good, "a new roof of cedar").await.unwrap();
        assert_eq!(back.recovery_codes_count, 10, "a reset code is none of the ten");
        bench.until_cache_is_stale().await;
        refused(mine(&ines).await, Code::Unauthenticated);
        refused(recover(&stranger, "ines", &good, "a floor of ash boards").await, Code::Unauthenticated);
        // A code that was asked for and not used ends with the next change of the password.
        let unused = code();
        let fresh = ines.holding(&back.tokens.unwrap().access_token);
        let change = v1::ChangePasswordRequest {
            old_password: "a new roof of cedar".into(),
            new_password: "a floor of ash boards".into(),
        };
        fresh.accounts().change_password(change).await.unwrap();
        refused(recover(&stranger, "ines", &unused, "a door of oak boards").await, Code::Unauthenticated);
    });
}

#[test]
fn keys_are_rotated_while_the_server_runs() {
    on_both("host keys", async |bench: &mut Bench| {
        let before = bench.first_account("ines").await;
        let there = before.signs_in().await.unwrap();
        let kid = |actor: &Actor| jsonwebtoken::decode_header(actor.access_token()).unwrap().kid.unwrap();
        let former = kid(&before);
        let list = v1::ListSessionsRequest { page_size: 1, page_token: String::new() };
        let page = before.accounts().list_sessions(list).await.unwrap().into_inner().next_page_token;
        let key = done(bench.database(), &["keys", "add"]).split_whitespace().next().unwrap().to_owned();
        let (exit, said) = host(bench.database(), &["keys", "promote", &key]);
        assert!(exit == 1 && said.contains("--now"), "{said}");
        // Servers read the keys again every two seconds.
        let until_read = || tokio::time::sleep(Duration::from_millis(2500));
        until_read().await;
        assert_eq!(kid(&before.signs_in().await.unwrap()), former, "an added key signs already");
        done(bench.database(), &["keys", "promote", &key, "--now"]);
        until_read().await;
        let after = before.signs_in().await.unwrap();
        assert_eq!(kid(&after), key);
        mine(&after).await.unwrap();
        mine(&before).await.unwrap();
        let rest = v1::ListSessionsRequest { page_size: 1, page_token: page.clone() };
        before.accounts().list_sessions(rest).await.unwrap();
        let listed = done(bench.database(), &["keys"]);
        let does = |id: &str| listed.lines().find(|line| line.starts_with(id)).unwrap().rsplit("  ").next().unwrap();
        assert_eq!((does(&key), does(&former)), ("signs", "is read"));
        let (exit, said) = host(bench.database(), &["keys", "retire", &key, "--now"]);
        assert!(exit == 1 && said.contains("promote another"), "{said}");
        let (exit, said) = host(bench.database(), &["keys", "retire", &former]);
        assert!(exit == 1 && said.contains("--now"), "{said}");
        done(bench.database(), &["keys", "retire", &former, "--now"]);
        until_read().await;
        refused(mine(&before).await, Code::Unauthenticated);
        mine(&after).await.unwrap();
        // The session goes on: only its access token was of the retired key.
        let fresh = refresh(&there).await.unwrap();
        mine(&there.holding(&fresh.access_token)).await.unwrap();
    });
}

#[test]
fn what_the_host_asks_wrongly_is_told() {
    let database = Database::fresh(DatabaseKind::Sqlite);
    for arguments in [&["accounts"][..], &["suspend", "ines"], &["reset", "ines"]] {
        let (exit, said) = host(&database, arguments);
        assert!(exit == 1 && said.contains("there is no database at"), "{arguments:?}: {said}");
        assert!(!database.folder().join("battenboard.db").exists(), "a host's command makes no database");
    }
    on_both("host faults", async |bench: &mut Bench| {
        bench.first_account("ines").await;
        for arguments in [&["suspend", "nobody"][..], &["reset", "nobody"]] {
            let (exit, said) = host(bench.database(), arguments);
            assert!(exit == 1 && said.contains("there is no account `nobody`"), "{arguments:?}: {said}");
        }
        for arguments in [&["keys", "promote", "../signing", "--now"][..], &["keys", "retire", "none", "--now"]] {
            let (exit, said) = host(bench.database(), arguments);
            assert!(exit == 1 && said.contains("there is no key"), "{arguments:?}: {said}");
        }
        assert_eq!(host(bench.database(), &["suspend"]).0, 2);
    });
}
