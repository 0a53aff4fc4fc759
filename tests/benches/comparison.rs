//! The comparison of two revisions of 61 members: a whole call by the wire. On SQLite, and on PostgreSQL where
//! `BATTENBOARD_TEST_POSTGRES` names a server.
//!
//! Asked: under 5 ms.
#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    missing_docs,
    reason = "a failed step is a failed bench, and its figures are printed"
)]

use battenboard_proto::v1;
use battenboard_tests::harness::frames::row_of_trestles;
use battenboard_tests::harness::{Actor, Database, DatabaseKind, GROUP, Served, ServedOptions};
use criterion::{Criterion, criterion_group, criterion_main};
use std::time::Duration;
use tokio::runtime::Runtime;

/// Trestles of a frame of 61 members.
const BAYS: u32 = 14;

fn comparison(criterion: &mut Criterion, runtime: &Runtime, kind: DatabaseKind, who: &Actor) {
    let text = row_of_trestles("row", BAYS);
    let other = text.replace("depth = 70", "depth = 95").replace("-320, 505", "-330, 505");
    runtime.block_on(async {
        who.submits(GROUP, "row", &text, "").await.unwrap();
        who.submits(GROUP, "row", &other, "A").await.unwrap();
        who.waits_for_findings(GROUP, "row", "B").await.unwrap();
    });
    let request = v1::CompareRevisionsRequest {
        group: GROUP.into(),
        design: "row".into(),
        from_letter: "A".into(),
        to_letter: "B".into(),
    };
    let compare = || async { who.designs().compare_revisions(request.clone()).await.unwrap().into_inner() };
    let changed = runtime.block_on(compare()).comparison.unwrap();
    println!("{} members and {} stock changed", changed.members.len(), changed.stock.len());
    criterion.bench_function(&format!("{kind:?}: comparison of two revisions of 61 members"), |bencher| {
        bencher.iter(|| runtime.block_on(compare()));
    });
}

fn bench(criterion: &mut Criterion) {
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    for kind in DatabaseKind::ALL.into_iter().filter(|kind| kind.is_here()) {
        let database = Database::fresh(kind);
        let served = Served::start(&ServedOptions::on(&database)).unwrap();
        let ines = runtime.block_on(async {
            let ines = Actor::stranger(served.channel().await.unwrap()).makes_account("ines", None).await.unwrap();
            ines.founds(GROUP).await.unwrap();
            ines
        });
        comparison(criterion, &runtime, kind, &ines);
        served.stop().unwrap();
    }
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(50).warm_up_time(Duration::from_millis(500))
        .measurement_time(Duration::from_secs(3));
    targets = bench
}
criterion_main!(benches);
