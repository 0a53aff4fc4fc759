//! A server that is killed at the worst moment, and started again on the same data.

#[path = "kill/storm.rs"]
mod storm;

use battenboard_proto::v1;
use battenboard_tests::harness::frames::{one_bearer, row_of_trestles};
use battenboard_tests::harness::{Actor, Database, DatabaseKind, GROUP, ServerProcess, block_on};
use battenboard_tests::verify::not_run;
use sea_orm::{ConnectionTrait, Statement};
use std::time::{Duration, Instant};

/// Runs a scene on each database that is there; the scene starts and kills servers itself.
fn on_each(name: &str, scene: impl AsyncFn(&Database)) {
    for kind in DatabaseKind::ALL {
        if kind.is_here() {
            let database = Database::fresh(kind);
            block_on(scene(&database));
        } else {
            not_run("postgres", name);
        }
    }
}

fn start(database: &Database) -> ServerProcess {
    ServerProcess::start(env!("CARGO_BIN_EXE_battenboard"), database)
}

#[test]
fn checks_that_waited_when_the_server_was_killed_end_with_findings() {
    on_each("kill queued", async |database| {
        let mut server = start(database);
        let ines = Actor::stranger(server.channel().await).makes_account("ines", None).await.unwrap();
        ines.founds(GROUP).await.unwrap();
        let names: Vec<String> = (0..16).map(|number| format!("row-{number}")).collect();
        let mut submits = tokio::task::JoinSet::new();
        for name in &names {
            let (who, name) = (ines.clone(), name.clone());
            submits.spawn(async move { who.submits(GROUP, &name, &row_of_trestles(&name, 480), "").await.unwrap() });
        }
        let answers = submits.join_all().await;
        let done = i32::from(v1::CheckState::Done);
        let unfinished = answers.iter().filter(|answer| answer.check_state != done).count();
        assert!(unfinished > 0, "every check was done before the answer: the kill would prove nothing");
        server.kill();
        let server = start(database);
        let ines = Actor::stranger(server.channel().await).with_account(&ines).signs_in().await.unwrap();
        for name in &names {
            let findings = tokio::time::timeout(Duration::from_secs(120), ines.waits_for_findings(GROUP, name, "A"));
            let findings = findings.await.expect("the check was never taken up again").unwrap();
            assert!(!findings.checks.is_empty());
        }
    });
}

#[test]
fn nothing_acknowledged_is_lost_by_a_kill() {
    on_each("kill acknowledged", async |database| {
        let mut server = start(database);
        let mut ines = Actor::stranger(server.channel().await).makes_account("ines", None).await.unwrap();
        ines.founds(GROUP).await.unwrap();
        let mut letter = String::new();
        for round in 0..3 {
            for number in 0..5 {
                let text = one_bearer("shelf", 600.0 + f64::from(10 * round + number));
                let made = ines.submits(GROUP, "shelf", &text, &letter).await.unwrap();
                letter = made.revision.unwrap().letter;
                ines.remarks_on(GROUP, "shelf", "B1", &format!("doubt on {letter}")).await.unwrap();
            }
            server.kill();
            server = start(database);
            ines = Actor::stranger(server.channel().await).with_account(&ines).signs_in().await.unwrap();
            let list = v1::ListRevisionsRequest { group: GROUP.into(), design: "shelf".into(), ..Default::default() };
            let page = ines.designs().list_revisions(list).await.unwrap().into_inner();
            assert_eq!(page.revisions.first().unwrap().letter, letter);
            let list = v1::ListRemarksRequest { group: GROUP.into(), design: "shelf".into(), ..Default::default() };
            let page = ines.remarks().list_remarks(list).await.unwrap().into_inner();
            assert_eq!(page.remarks.len(), usize::try_from(5 * (round + 1)).unwrap());
        }
    });
}

#[test]
fn a_stopped_server_ends_by_itself_and_in_time() {
    on_each("stop", async |database| {
        let mut server = start(database);
        let ines = Actor::stranger(server.channel().await).makes_account("ines", None).await.unwrap();
        ines.founds(GROUP).await.unwrap();
        ines.submits(GROUP, "row", &row_of_trestles("row", 300), "").await.unwrap();
        let waiting = tokio::spawn({
            let ines = ines.clone();
            async move { ines.waits_for_findings(GROUP, "row", "A").await }
        });
        let status = server.stop(Duration::from_secs(30));
        assert!(status.is_some_and(|status| status.success()), "{status:?}");
        let _ = waiting.await;
    });
}

/// Who holds the check of a design, and since when it is held, as its server could read it.
async fn holder(connection: &sea_orm::DatabaseConnection, design: &str) -> Option<uuid::Uuid> {
    let sql = "SELECT c.holder FROM checks c JOIN revisions r ON r.id = c.revision_id JOIN designs d ON d.id = r.design_id \
               WHERE c.state = 'running' AND d.name = $1";
    let asked = Statement::from_sql_and_values(connection.get_database_backend(), sql, [design.into()]);
    connection.query_one_raw(asked).await.unwrap().and_then(|row| row.try_get_by_index(0).unwrap())
}

#[test]
fn the_running_check_of_a_killed_server_is_taken_up_by_the_other_within_its_lease() {
    if !DatabaseKind::Postgres.is_here() {
        not_run("postgres", "kill two servers");
        return;
    }
    let database = Database::fresh(DatabaseKind::Postgres);
    block_on(async {
        let (mut killed, stays) = (start(&database), start(&database));
        let ines = Actor::stranger(stays.channel().await).makes_account("ines", None).await.unwrap();
        ines.founds(GROUP).await.unwrap();
        let at_killed = ines.through(killed.channel().await);
        at_killed.submits(GROUP, "long", &row_of_trestles("long", 480), "").await.unwrap();
        let connection = database.connect().await.unwrap();
        let first = holder(&connection, "long").await.expect("a check that runs");
        killed.kill();
        let since = Instant::now();
        let then = loop {
            let now = holder(&connection, "long").await;
            if now != Some(first) {
                break now;
            }
            // A lease of twelve seconds, and a look every second at whose has run out.
            assert!(since.elapsed() < Duration::from_secs(15), "nobody takes it up");
            tokio::time::sleep(Duration::from_millis(50)).await;
        };
        assert!(then.is_some(), "it ended although its server was killed: the kill came too late to prove anything");
        let found = tokio::time::timeout(Duration::from_secs(60), ines.waits_for_findings(GROUP, "long", "A")).await;
        assert!(!found.expect("it is never checked").unwrap().checks.is_empty());
        let list = v1::ListNewsRequest { from_oldest: true, page_size: 200, ..Default::default() };
        let events = ines.news().list_news(list).await.unwrap().into_inner().events;
        assert_eq!(events.iter().filter(|event| event.kind() == v1::EventKind::Checked).count(), 1);
    });
}
