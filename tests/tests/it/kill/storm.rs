//! Sixteen writers, and a server that is killed under them at any moment, again and again. Everything that was
//! acknowledged went into a file before the next call; after each kill it is asked for by the API, and whatever is there
//! must be whole.
//!
//! `BATTENBOARD_KILLS` says how often each database's server is killed; without it, a few times. `sqlite 200` or
//! `postgres 200` leaves the other out.

#[path = "book.rs"]
mod book;
#[path = "writers.rs"]
mod writers;

use super::start;
use battenboard_proto::v1;
use battenboard_tests::harness::frames::{one_bearer, row_of_trestles};
use battenboard_tests::harness::{Actor, Database, DatabaseKind, GROUP, ServerProcess};
use battenboard_tests::verify::not_run;
use book::Book;
use rand::RngExt;
use sea_orm::{ConnectionTrait, Statement};
use std::io::Write;
use std::time::{Duration, Instant};
use writers::{Role, Writer, hang};

/// Kills where nobody says how many.
const KILLS: usize = 3;
/// Kills on one set of data, which each of them makes longer.
const KILLS_ON_ONE: usize = 10;
/// The writers write at most so long before the kill.
const STORM: Duration = Duration::from_millis(1500);
/// Trestles of the frame whose check takes its time: nearly as large as a server takes.
const LONG_BAYS: u32 = 480;
/// Of so many kills one is to come within the check of such a frame.
const LONG_EVERY: usize = 4;

/// What was going on when the server was killed.
#[derive(Debug, Default)]
pub struct Counts {
    kills: usize,
    within_transaction: usize,
    within_long_check: usize,
    acknowledged: usize,
    repeated: usize,
    checked_twice: usize,
    slowest_start: Duration,
    long_check: Duration,
}

/// How often the server of this database is killed.
fn kills(kind: DatabaseKind) -> usize {
    let Ok(asked) = std::env::var("BATTENBOARD_KILLS") else { return KILLS };
    let (only, count) = asked.split_once(' ').unwrap_or(("", &asked));
    let is_meant = only.is_empty() || only == format!("{kind:?}").to_lowercase();
    let count: usize = count.parse().expect("BATTENBOARD_KILLS is a count, or a database and a count");
    if is_meant { count } else { 0 }
}

#[test]
fn whatever_the_moment_of_the_kill_nothing_acknowledged_is_missing_and_nothing_half_done() {
    for kind in DatabaseKind::ALL {
        if !kind.is_here() {
            not_run("postgres", "kill storm");
            continue;
        }
        let (kills, mut counts) = (kills(kind), Counts::default());
        while counts.kills < kills {
            let database = Database::fresh(kind);
            let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
            runtime.block_on(on_one(&database, kills.min(counts.kills + KILLS_ON_ONE), &mut counts));
            let _ = writeln!(std::io::stderr(), "{kind:?}: {counts:?}");
        }
        // Without these the kills would prove less than they say.
        assert!(counts.within_transaction >= kills / 10, "{kind:?}: {counts:?}");
        assert!(counts.within_long_check >= kills / 10, "{kind:?}: {counts:?}");
        assert!(counts.acknowledged >= 10 * kills, "{kind:?}: {counts:?}");
        assert!(counts.within_long_check == 0 || counts.long_check >= Duration::from_secs(1), "{counts:?}");
    }
}

/// Kills the server of one database until there were so many kills.
async fn on_one(database: &Database, until: usize, counts: &mut Counts) {
    let mut server = start(database);
    let (mut book, mut writers) = open(&server, database, counts).await;
    while counts.kills < until {
        let long = counts.kills % LONG_EVERY == 1;
        let wait = STORM.mul_f64(rand::rng().random_range(0.0..1.0));
        writers = write_until_killed(&mut server, writers, database, wait, long, counts).await;
        let begun = Instant::now();
        server = start(database);
        counts.slowest_start = counts.slowest_start.max(begun.elapsed());
        let channel = server.channel().await;
        book.who = book.who.through(channel.clone());
        for writer in &mut writers {
            writer.who = writer.who.through(channel.clone());
            // What had no answer is asked again under the same request id: it is done once, whatever became of it.
            counts.repeated += usize::from(writer.repeats().await);
        }
        book.holds(&writers, false).await;
    }
    book.holds(&writers, true).await;
    counts.acknowledged += writers.iter().map(|writer| writer.told().len()).sum::<usize>();
    counts.checked_twice += book.checked_twice;
    server.kill();
}

/// The crew, their designs, and the writers with their files.
async fn open(server: &ServerProcess, database: &Database, counts: &mut Counts) -> (Book, Vec<Writer>) {
    let ines = Actor::stranger(server.channel().await).makes_account("ines", None).await.unwrap();
    ines.founds(GROUP).await.unwrap();
    ines.founds("elsewhere").await.unwrap();
    for yard in 0..Role::SUBMITTERS {
        let design = format!("yard-{yard}");
        ines.submits(GROUP, &design, &one_bearer(&design, 700.0), "").await.unwrap();
    }
    if counts.long_check.is_zero() {
        let begun = Instant::now();
        ines.submits(GROUP, "long-first", &row_of_trestles("long-first", LONG_BAYS), "").await.unwrap();
        ines.waits_for_findings(GROUP, "long-first", "A").await.unwrap();
        counts.long_check = begun.elapsed();
    }
    let notice = hang(&ines, "yard-2", "the notice that is taken up", "").await.unwrap();
    let mut writers = Vec::new();
    for (number, role) in Role::all().into_iter().enumerate() {
        let (group, right) = match role {
            Role::TakesUp => ("elsewhere", v1::Right::Reviewer),
            _ => (GROUP, v1::Right::Builder),
        };
        let who = ines.lets_in(&format!("writer-{number}"), group, right).await.unwrap();
        writers.push(Writer::new(who, role, number, database.folder(), &notice));
    }
    (Book::of(ines, notice), writers)
}

/// Lets everybody write, stops the server where it stands, looks what it was at, and kills it.
async fn write_until_killed(
    server: &mut ServerProcess,
    writers: Vec<Writer>,
    database: &Database,
    wait: Duration,
    long: bool,
    counts: &mut Counts,
) -> Vec<Writer> {
    let mut storm = tokio::task::JoinSet::new();
    let kills = counts.kills;
    for mut writer in writers {
        storm.spawn(async move {
            if long && writer.role == Role::Submits(0) {
                let name = format!("long-{kills}");
                writer.submits_long(&name, &row_of_trestles(&name, LONG_BAYS)).await;
            }
            writer.writes_until_it_fails().await;
            writer
        });
    }
    // Long enough for the check to begin: the kill is to come within it.
    tokio::time::sleep(if long { wait + Duration::from_millis(600) } else { wait }).await;
    server.freeze();
    let (transaction, check) = caught(database).await;
    server.kill();
    counts.kills += 1;
    counts.within_transaction += usize::from(transaction);
    counts.within_long_check += usize::from(check);
    let mut writers = storm.join_all().await;
    writers.sort_by_key(|writer| writer.number);
    writers
}

/// What a server that stands still is within: a writing transaction, the check of a long frame.
async fn caught(database: &Database) -> (bool, bool) {
    let other = database.connect().await.unwrap();
    let backend = other.get_database_backend();
    let count = async |sql: &str| -> i64 {
        let row = other.query_one_raw(Statement::from_string(backend, sql)).await.unwrap().unwrap();
        row.try_get_by_index(0).unwrap()
    };
    let transaction = if database.kind == DatabaseKind::Sqlite {
        // The lock of a process that stands still is held for as long as it does.
        other.execute_unprepared("PRAGMA busy_timeout = 0").await.unwrap();
        let is_free = other.execute_unprepared("BEGIN IMMEDIATE").await.is_ok();
        if is_free {
            other.execute_unprepared("ROLLBACK").await.unwrap();
        }
        !is_free
    } else {
        // What the server had sent when it was stopped comes to its end; what is open then stays open.
        tokio::time::sleep(Duration::from_millis(30)).await;
        let open = "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() AND backend_xid IS NOT NULL \
                    AND pid <> pg_backend_pid() AND (state = 'idle in transaction' OR wait_event_type = 'Lock')";
        count(open).await > 0
    };
    let running = "SELECT count(*) FROM checks c JOIN revisions r ON r.id = c.revision_id JOIN designs d ON \
                   d.id = r.design_id WHERE c.state = 'running' AND d.name LIKE 'long-%'";
    let check = count(running).await > 0;
    other.close().await.unwrap();
    (transaction, check)
}
