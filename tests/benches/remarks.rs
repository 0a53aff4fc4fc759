//! Remarks that survive change: what carrying 1,000 of them costs, by the engine alone and within a submit, and the first
//! page of a design with 100 revisions and 10,000 remarks. On SQLite, and on PostgreSQL where
//! `BATTENBOARD_TEST_POSTGRES` names a server.
//!
//! Asked: carrying 1,000 remarks under 50 ms, a first page under 20 ms.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::print_stdout,
    missing_docs,
    reason = "a failed step is a failed bench, and its figures are printed"
)]

use battenboard_engine::design::Design;
use battenboard_engine::design::carry::{Carried, On, Origin, Step};
use battenboard_proto::v1;
use battenboard_tests::harness::frames::CURLEW;
use battenboard_tests::harness::rows::remarks_at_once;
use battenboard_tests::harness::{Actor, Database, DatabaseKind, GROUP, Served, ServedOptions};
use criterion::{Criterion, criterion_group, criterion_main};
use std::hint::black_box;
use std::time::{Duration, Instant};
use tokio::runtime::Runtime;

/// The demo platform with its battens under other names each time: all remarks on them change their standing.
fn renamed(design: &str, number: usize) -> String {
    let text = CURLEW.replace("name = \"curlew-platform\"", &format!("name = \"{design}\""));
    text.replace("\"M*\"", &format!("\"M{number}x*\"")).replace("\"M4\"", &format!("\"M{number}x4\""))
}

fn read(text: &str) -> Design {
    battenboard_designfile::read(text).unwrap().design
}

fn engine(criterion: &mut Criterion) {
    let (before, after) = (read(&renamed("curlew", 1)), read(&renamed("curlew", 2)));
    let tags: Vec<&str> = before.members.iter().map(|member| member.tag.as_str()).collect();
    let remarks: Vec<(Origin, Carried)> = (0..1000)
        .map(|n| {
            let origin = Origin::of(&before, On::Member, tags[n % tags.len()], Some(100.0)).unwrap();
            let carried = Carried::made(&origin, 1);
            (origin, carried)
        })
        .collect();
    let changed =
        remarks.iter().filter(|(origin, carried)| Step::between(&before, &after).carry(origin, carried, 2) != *carried);
    println!("{} members, {} of 1000 remarks change", tags.len(), changed.count());
    criterion.bench_function("engine: a step and 1,000 remarks", |bencher| {
        bencher.iter(|| {
            let step = Step::between(&before, &after);
            remarks.iter().for_each(|(origin, carried)| _ = black_box(step.carry(origin, carried, 2)));
        });
    });
}

/// A crew with one design that has a revision.
async fn crew(served: &Served) -> Actor {
    let stranger = Actor::stranger(served.channel().await.unwrap());
    let ines = stranger.makes_account("ines", None).await.unwrap();
    ines.founds(GROUP).await.unwrap();
    ines
}

fn letter_after(answer: v1::SubmitRevisionResponse) -> String {
    answer.revision.unwrap().letter
}

async fn first_page(who: &Actor, design: &str, as_of: &str, tag: &str) -> v1::ListRemarksResponse {
    let list = v1::ListRemarksRequest {
        group: GROUP.into(),
        design: design.into(),
        as_of_letter: as_of.into(),
        tag: tag.into(),
        ..v1::ListRemarksRequest::default()
    };
    who.remarks().list_remarks(list).await.unwrap().into_inner()
}

/// Submits of a design whose battens get new names each time, with as many remarks on them as were made.
fn submits(criterion: &mut Criterion, runtime: &Runtime, who: &Actor, database: &Database, count: usize) {
    let design = format!("curlew-{count}");
    let mut letter =
        runtime.block_on(async { letter_after(who.submits(GROUP, &design, &renamed(&design, 1), "").await.unwrap()) });
    if count > 0 {
        let tags: Vec<String> = (1..=7).map(|n| format!("M1x{n}")).collect();
        runtime.block_on(async {
            who.remarks_on(GROUP, &design, &tags[0], "springy").await.unwrap();
            remarks_at_once(database, &design, &tags, count - 1).await;
            let text = renamed(&design, 2);
            letter = letter_after(who.submits(GROUP, &design, &text, &letter).await.unwrap());
        });
    }
    let mut number = 2;
    criterion.bench_function(&format!("{:?}: a submit with {count} remarks", database.kind), |bencher| {
        bencher.iter_custom(|times| {
            let mut all = Duration::ZERO;
            for _ in 0..times {
                number += 1;
                let text = renamed(&design, number);
                let started = Instant::now();
                let answer = runtime.block_on(who.submits(GROUP, &design, &text, &letter)).unwrap();
                all += started.elapsed();
                letter = letter_after(answer);
            }
            all
        });
    });
}

fn pages(
    criterion: &mut Criterion,
    runtime: &Runtime,
    who: &Actor,
    database: &Database,
    revisions: usize,
    count: usize,
) {
    let design = format!("long-{count}");
    let mut letters: Vec<String> = Vec::new();
    runtime.block_on(async {
        for number in 1..=revisions {
            let from = letters.last().cloned().unwrap_or_default();
            letters.push(letter_after(who.submits(GROUP, &design, &renamed(&design, number), &from).await.unwrap()));
            let tags: Vec<String> = (1..=7).map(|n| format!("M{number}x{n}")).collect();
            who.remarks_on(GROUP, &design, &tags[0], "springy").await.unwrap();
            remarks_at_once(database, &design, &tags, count / revisions - 1).await;
        }
        // Remarks that were put into the tables are carried at the first look.
        let started = Instant::now();
        first_page(who, &design, "", "").await;
        println!("{:?}: caught up with {count} remarks in {:?}", database.kind, started.elapsed());
    });
    let middle = letters[revisions / 2].clone();
    let on = format!("M{revisions}x4");
    for (name, as_of, tag) in
        [("first page", "", ""), ("first page as of the middle", middle.as_str(), ""), ("first page on a tag", "", &on)]
    {
        let name = format!("{:?}: {name}, {revisions} revisions, {count} remarks", database.kind);
        criterion.bench_function(&name, |bencher| {
            bencher.iter(|| {
                let page = runtime.block_on(first_page(who, &design, as_of, tag));
                assert_eq!(page.remarks.len(), 50);
            });
        });
    }
}

fn bench(criterion: &mut Criterion) {
    engine(criterion);
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    for kind in DatabaseKind::ALL.into_iter().filter(|kind| kind.is_here()) {
        let database = Database::fresh(kind);
        let served = Served::start(&ServedOptions::on(&database)).unwrap();
        let who = runtime.block_on(crew(&served));
        for count in [0, 1000] {
            submits(criterion, &runtime, &who, &database, count);
        }
        for (revisions, count) in [(10, 500), (100, 10_000)] {
            pages(criterion, &runtime, &who, &database, revisions, count);
        }
        served.stop().unwrap();
    }
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(20).measurement_time(Duration::from_secs(4));
    targets = bench
}
criterion_main!(benches);
