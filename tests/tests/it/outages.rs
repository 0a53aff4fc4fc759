//! A database that is locked, gone or out of room: an error to the caller, nothing half-written, recovery by itself.

use battenboard_proto::v1;
use battenboard_tests::harness::frames::one_bearer;
use battenboard_tests::harness::{Actor, Bench, Crew, Database, DatabaseKind, GROUP, POSTGRES, ServerProcess};
use battenboard_tests::harness::{block_on, on_both};
use sea_orm::ConnectionTrait;
use std::time::{Duration, Instant};
use tonic::{Code, Status};

/// Letters of the shelf, newest first.
async fn letters(who: &Actor) -> Result<Vec<String>, Status> {
    let list = v1::ListRevisionsRequest { group: GROUP.into(), design: "shelf".into(), ..Default::default() };
    let page = who.designs().list_revisions(list).await?.into_inner();
    Ok(page.revisions.into_iter().map(|revision| revision.letter).collect())
}

/// A refusal for the time being, in words that show nothing of the inside.
#[track_caller]
fn for_the_time_being(status: &Status) {
    assert!(
        [Code::Unavailable, Code::ResourceExhausted, Code::DeadlineExceeded].contains(&status.code()),
        "{status:?}"
    );
    let inside = ["sqlite", "SQL", "sqlx", "postgres", "PoolTimed", "SQLITE", "disk I/O"];
    assert!(!inside.iter().any(|word| status.message().contains(word)), "{}", status.message());
}

/// Takes the database away, and gives it back.
enum Outage {
    Lock(sea_orm::DatabaseConnection),
    Refuse { admin: sea_orm::DatabaseConnection, name: String },
}

impl Outage {
    async fn begin(bench: &Bench) -> Self {
        let folder = bench.database().folder();
        if bench.kind() == DatabaseKind::Sqlite {
            let url = format!("sqlite://{}", folder.join("battenboard.db").display());
            let mut options = sea_orm::ConnectOptions::new(url);
            options.max_connections(1).sqlx_logging(false);
            let other = sea_orm::Database::connect(options).await.unwrap();
            other.execute_unprepared("BEGIN EXCLUSIVE").await.unwrap();
            return Self::Lock(other);
        }
        let admin = sea_orm::Database::connect(std::env::var(POSTGRES).unwrap()).await.unwrap();
        let url = bench.database().url().unwrap();
        let name = url.rsplit_once('/').unwrap().1.to_owned();
        admin.execute_unprepared(&format!("ALTER DATABASE {name} ALLOW_CONNECTIONS false")).await.unwrap();
        let end = format!("SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{name}'");
        admin.execute_unprepared(&end).await.unwrap();
        Self::Refuse { admin, name }
    }

    async fn end(self) {
        match self {
            Self::Lock(other) => {
                other.execute_unprepared("ROLLBACK").await.unwrap();
                other.close().await.unwrap();
            }
            Self::Refuse { admin, name } => {
                admin.execute_unprepared(&format!("ALTER DATABASE {name} ALLOW_CONNECTIONS true")).await.unwrap();
                admin.close().await.unwrap();
            }
        }
    }
}

#[test]
fn a_locked_or_vanished_database_is_an_error_for_the_time_being() {
    on_both("outages", async |bench: &mut Bench| {
        let Crew { ines, .. } = bench.saltmarsh().await;
        ines.submits(GROUP, "shelf", &one_bearer("shelf", 800.0), "").await.unwrap();
        let outage = Outage::begin(bench).await;
        let started = Instant::now();
        let refused = ines.submits(GROUP, "shelf", &one_bearer("shelf", 810.0), "A").await.unwrap_err();
        for_the_time_being(&refused);
        assert!(started.elapsed() < Duration::from_secs(30), "{:?}", started.elapsed());
        outage.end().await;
        // By itself: nobody restarts anything. A pool may need one try to see that its connections are gone.
        let deadline = Instant::now() + Duration::from_secs(30);
        let seen = loop {
            match letters(&ines).await {
                Ok(seen) => break seen,
                Err(status) => for_the_time_being(&status),
            }
            assert!(Instant::now() < deadline, "the server did not come back");
            tokio::time::sleep(Duration::from_millis(200)).await;
        };
        assert_eq!(seen, ["A"], "a refused submit left something behind");
        ines.submits(GROUP, "shelf", &one_bearer("shelf", 810.0), "A").await.unwrap();
        assert_eq!(letters(&ines).await.unwrap(), ["B", "A"]);
    });
}

#[test]
fn a_full_disk_refuses_keeps_what_was_acknowledged_and_recovers() {
    let database = Database::fresh(DatabaseKind::Sqlite);
    // No file of the server may grow past this: to a program the same as a full disk.
    let server = ServerProcess::start_in_small_files(env!("CARGO_BIN_EXE_battenboard"), &database, 1500);
    block_on(async {
        let ines = Actor::stranger(server.channel().await).makes_account("ines", None).await.unwrap();
        ines.founds(GROUP).await.unwrap();
        let mut acknowledged: Vec<String> = Vec::new();
        let mut refused = None;
        for number in 0..2000 {
            let text = format!("{}\n# {}\n", one_bearer("shelf", 600.0 + f64::from(number) * 0.1), "x".repeat(20_000));
            let before = acknowledged.last().cloned().unwrap_or_default();
            match ines.submits(GROUP, "shelf", &text, &before).await {
                Ok(answer) => acknowledged.push(answer.revision.unwrap().letter),
                Err(status) => {
                    refused = Some(status);
                    break;
                }
            }
        }
        let refused = refused.expect("the disk never filled up");
        for_the_time_being(&refused);
        acknowledged.reverse();
        let seen = letters_of_all_pages(&ines).await;
        assert_eq!(seen, acknowledged, "what was acknowledged and what is there differ");
        server.lets_files_grow();
        let latest = acknowledged.first().cloned().unwrap_or_default();
        ines.submits(GROUP, "shelf", &one_bearer("shelf", 555.0), &latest).await.unwrap();
        assert_eq!(letters_of_all_pages(&ines).await.len(), acknowledged.len() + 1);
    });
}

async fn letters_of_all_pages(who: &Actor) -> Vec<String> {
    let mut all = Vec::new();
    let mut token = String::new();
    loop {
        let list =
            v1::ListRevisionsRequest { group: GROUP.into(), design: "shelf".into(), page_size: 200, page_token: token };
        let page = who.designs().list_revisions(list).await.unwrap().into_inner();
        all.extend(page.revisions.into_iter().map(|revision| revision.letter));
        token = page.next_page_token;
        if token.is_empty() {
            return all;
        }
    }
}
