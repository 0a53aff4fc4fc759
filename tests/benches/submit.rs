//! Submit-with-findings at sixteen callers, beside what bounds it: echoes with a token, durable inserts of the same
//! bytes, the engine alone on both cores. All four in one run, so that they share the machine's mood.
//!
//! The floor asked for is half of `1 / (1/a + n/b + 1/c)`: a echoes a second, b durable inserts a second, c frames a
//! second by the engine alone, n durable transactions a submit makes (one: revision, findings and event together).
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::print_stdout,
    missing_docs,
    reason = "a failed step is a failed bench, and its figures are printed"
)]

use battenboard_engine::design::Frame;
use battenboard_engine::{Ask, check};
use battenboard_proto::v1;
use battenboard_tests::harness::frames::{CURLEW, curlew_again};
use battenboard_tests::harness::{Actor, GROUP, Served, ServedOptions};
use criterion::{Criterion, criterion_group, criterion_main};
use sea_orm::{ConnectionTrait, DatabaseConnection, Statement};
use std::cell::RefCell;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};
use tokio::runtime::Runtime;

const CALLERS: usize = 16;
/// Durable transactions a submit makes when its findings come with it.
const TRANSACTIONS: f64 = 1.0;

/// Seconds for one, of each sample; the median is what is compared.
#[derive(Default)]
struct Samples(RefCell<Vec<f64>>);

impl Samples {
    fn note(&self, time: Duration, count: u64) -> Duration {
        self.0.borrow_mut().push(time.as_secs_f64() / count as f64);
        time
    }

    fn median(&self) -> f64 {
        let mut samples = self.0.borrow().clone();
        samples.sort_by(f64::total_cmp);
        samples.get(samples.len() / 2).copied().unwrap_or(f64::NAN)
    }
}

/// Splits `count` calls over the callers and takes the time until the last is answered.
fn at_sixteen_callers<F>(runtime: &Runtime, callers: &[Actor], count: u64, call: fn(Actor, usize, u64) -> F) -> Duration
where
    F: Future<Output = ()> + Send + 'static,
{
    let started = Instant::now();
    runtime.block_on(async {
        let mut tasks = tokio::task::JoinSet::new();
        for (index, caller) in callers.iter().enumerate() {
            let mine = count / CALLERS as u64 + u64::from((index as u64) < count % CALLERS as u64);
            tasks.spawn(call(caller.clone(), index, mine));
        }
        tasks.join_all().await;
    });
    started.elapsed()
}

async fn echo(caller: Actor, _: usize, count: u64) {
    let mut accounts = caller.accounts();
    for _ in 0..count {
        accounts.get_account(v1::GetAccountRequest {}).await.unwrap();
    }
}

static NUMBER: AtomicU64 = AtomicU64::new(1);

/// Each caller goes on with a design of its own, revision after revision.
async fn submit(caller: Actor, index: usize, count: u64) {
    let design = format!("curlew-{index}");
    let latest = v1::GetDesignRequest { group: GROUP.into(), design: design.clone() };
    let latest = caller.designs().get_design(latest).await.ok().and_then(|found| found.into_inner().design);
    let mut letter = latest.map(|design| design.latest_letter).unwrap_or_default();
    for _ in 0..count {
        let text = curlew_again(&design, NUMBER.fetch_add(1, Ordering::Relaxed));
        let answer = caller.submits(GROUP, &design, &text, &letter).await.unwrap();
        letter = answer.revision.unwrap().letter;
        if answer.findings.is_none() {
            caller.waits_for_findings(GROUP, &design, &letter).await.unwrap();
        }
    }
}

/// The engine alone, from frame to findings as the server asks for them, on two threads.
fn engine(count: u64) -> Duration {
    let frames: Vec<Frame> = (0..count)
        .map(|_| {
            let text = curlew_again("curlew", NUMBER.fetch_add(1, Ordering::Relaxed));
            Frame::new(&battenboard_designfile::read(&text).unwrap().design).unwrap()
        })
        .collect();
    let half = frames.len().div_ceil(2);
    let started = Instant::now();
    std::thread::scope(|scope| {
        for part in frames.chunks(half.max(1)) {
            scope.spawn(move || {
                for frame in part {
                    std::hint::black_box(check(frame, Ask { results: false, mends: true }, &|| false).unwrap());
                }
            });
        }
    });
    started.elapsed()
}

/// An embedded database as the server keeps its own: write-ahead log, synchronous FULL, one writer.
async fn database(folder: &std::path::Path) -> DatabaseConnection {
    let url = format!("sqlite://{}?mode=rwc", folder.join("inserts.db").display());
    let mut options = sea_orm::ConnectOptions::new(url);
    options.max_connections(1).sqlx_logging(false);
    let connection = sea_orm::Database::connect(options).await.unwrap();
    for pragma in ["PRAGMA journal_mode = WAL", "PRAGMA synchronous = FULL"] {
        connection.execute_unprepared(pragma).await.unwrap();
    }
    connection.execute_unprepared("CREATE TABLE kept (id INTEGER PRIMARY KEY, body BLOB NOT NULL)").await.unwrap();
    connection
}

fn inserts(runtime: &Runtime, connection: &DatabaseConnection, bytes: &[u8], count: u64) -> Duration {
    let started = Instant::now();
    runtime.block_on(async {
        for _ in 0..count {
            let insert = "INSERT INTO kept (body) VALUES (?)";
            let values = [sea_orm::Value::from(bytes.to_vec())];
            let statement = Statement::from_sql_and_values(sea_orm::DbBackend::Sqlite, insert, values);
            connection.execute_raw(statement).await.unwrap();
        }
    });
    started.elapsed()
}

fn crew(runtime: &Runtime, served: &Served) -> Vec<Actor> {
    runtime.block_on(async {
        let stranger = Actor::stranger(served.channel().await.unwrap());
        let first = stranger.makes_account("ines", None).await.unwrap();
        first.founds(GROUP).await.unwrap();
        let mut callers = Vec::new();
        for index in 0..CALLERS {
            let caller = first.lets_in(&format!("crew-{index}"), GROUP, v1::Right::Builder).await.unwrap();
            callers.push(caller.through(served.channel().await.unwrap()));
        }
        callers
    })
}

fn bench(criterion: &mut Criterion) {
    let folder = tempfile::tempdir().unwrap();
    let mut options = ServedOptions::in_folder(&folder.path().join("server"));
    options.config.limits.calls_per_second = 1_000_000;
    let served = Served::start(&options).unwrap();
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    let callers = crew(&runtime, &served);
    // What one submit keeps: the text, the frame, the findings.
    let read = battenboard_designfile::read(CURLEW).unwrap().design;
    let found = check(&Frame::new(&read).unwrap(), Ask { results: false, mends: true }, &|| false).unwrap();
    let bytes =
        [CURLEW.to_owned(), serde_json::to_string(&read).unwrap(), serde_json::to_string(&found).unwrap()].concat();
    let connection = runtime.block_on(database(folder.path()));

    let [echoes, kept, alone, submits] = [const { Samples(RefCell::new(Vec::new())) }; 4];
    let mut group = criterion.benchmark_group("submit");
    group.sample_size(20).measurement_time(Duration::from_secs(10));
    group.bench_function("echo with token, 16 callers", |bencher| {
        bencher.iter_custom(|count| echoes.note(at_sixteen_callers(&runtime, &callers, count, echo), count));
    });
    group.bench_function("durable insert of the same bytes", |bencher| {
        bencher.iter_custom(|count| kept.note(inserts(&runtime, &connection, bytes.as_bytes(), count), count));
    });
    group.bench_function("engine alone, two threads", |bencher| {
        bencher.iter_custom(|count| alone.note(engine(count), count));
    });
    group.bench_function("submit with findings, 16 callers", |bencher| {
        bencher.iter_custom(|count| submits.note(at_sixteen_callers(&runtime, &callers, count, submit), count));
    });
    group.finish();
    let floor = echoes.median() + TRANSACTIONS * kept.median() + alone.median();
    println!(
        "a second: {:.0} echoes (a), {:.0} durable inserts of {} kB (b), {:.0} frames by the engine (c), {:.0} submits",
        1.0 / echoes.median(),
        1.0 / kept.median(),
        bytes.len() / 1000,
        1.0 / alone.median(),
        1.0 / submits.median()
    );
    println!("submits over 1 / (1/a + {TRANSACTIONS}/b + 1/c): {:.2} (0.5 is asked)", floor / submits.median());
    served.stop().unwrap();
}

criterion_group!(benches, bench);
criterion_main!(benches);
