//! The noticeboard with 100,000 notices: the first page, without and with filters, and one from its middle. On SQLite, and on
//! PostgreSQL where `BATTENBOARD_TEST_POSTGRES` names a server. Each figure is that of a whole call by the wire.
//!
//! Asked: a page under 30 ms.
#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    missing_docs,
    reason = "a failed step is a failed bench, and its figures are printed"
)]

use battenboard_proto::v1;
use battenboard_tests::harness::frames::one_bearer;
use battenboard_tests::harness::rows::notices_at_once;
use battenboard_tests::harness::{Actor, Database, DatabaseKind, GROUP, Served, ServedOptions};
use criterion::{Criterion, criterion_group, criterion_main};
use prost_types::Timestamp;
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};
use tokio::runtime::Runtime;

const NOTICES: usize = 100_000;

fn from_now(seconds: i64) -> Option<Timestamp> {
    let now = SystemTime::now().duration_since(UNIX_EPOCH).unwrap().as_secs();
    Some(Timestamp { seconds: i64::try_from(now).unwrap() + seconds, nanos: 0 })
}

async fn crew(served: &Served, database: &Database) -> Actor {
    let ines = Actor::stranger(served.channel().await.unwrap()).makes_account("ines", None).await.unwrap();
    ines.founds(GROUP).await.unwrap();
    ines.founds("elsewhere").await.unwrap();
    let tove = ines.lets_in("tove", "elsewhere", v1::Right::Reviewer).await.unwrap();
    ines.submits(GROUP, "shelf", &one_bearer("shelf", 800.0), "").await.unwrap();
    let wish = v1::HangNoticeRequest {
        group: GROUP.into(),
        design: "shelf".into(),
        worry: "is it stiff enough?".into(),
        frame_kind: "shelf".into(),
        expire_time: from_now(7 * 86_400),
        ..Default::default()
    };
    let hung = ines.notices().hang_notice(wish).await.unwrap().into_inner().notice.unwrap();
    let started = Instant::now();
    notices_at_once(database, &hung.code, NOTICES).await;
    println!("{:?}: {NOTICES} notices put there in {:?}", database.kind, started.elapsed());
    tove
}

async fn page(who: &Actor, wanted: v1::ListNoticesRequest) -> v1::ListNoticesResponse {
    who.notices().list_notices(wanted).await.unwrap().into_inner()
}

fn wanted(vehicle: &str, frame_kind: &str, skill: &str) -> v1::ListNoticesRequest {
    let (vehicle, frame_kind, skill) = (vehicle.into(), frame_kind.into(), skill.into());
    v1::ListNoticesRequest { vehicle, frame_kind, skill, ..Default::default() }
}

fn pages(criterion: &mut Criterion, runtime: &Runtime, kind: DatabaseKind, who: &Actor) {
    let late = v1::ListNoticesRequest { hung_from_time: from_now(-600), ..Default::default() };
    let within = v1::ListNoticesRequest { hung_before_time: from_now(-50_000), ..wanted("", "kind 3", "statics") };
    let asked = [
        ("first page", wanted("", "", ""), 50),
        ("of a vehicle", wanted("van 7", "", ""), 50),
        ("of a rare vehicle", wanted("avocet", "", ""), 10),
        ("of a vehicle that none is of", wanted("dunlin", "", ""), 0),
        ("of a kind", wanted("", "kind 3", ""), 50),
        ("for a skill", wanted("", "", "joinery"), 50),
        ("for a rare skill", wanted("", "", "glue"), 20),
        ("for a skill that none asks for", wanted("", "", "welding"), 0),
        ("of a kind for a skill", wanted("", "kind 3", "statics"), 50),
        ("of a vehicle and a kind for a skill", wanted("van 6", "kind 6", "joinery"), 50),
        ("of a vehicle for a skill that none of it asks for", wanted("van 1", "", "joinery"), 0),
        ("of a rare vehicle for a skill", wanted("avocet", "", "joinery"), 0),
        ("of the last ten minutes", late, 50),
        ("of a kind for a skill before a day", within, 50),
    ];
    for (name, wanted, count) in asked {
        let found = runtime.block_on(page(who, wanted.clone())).notices.len();
        assert_eq!(found, count, "{name}");
        criterion.bench_function(&format!("{kind:?}: notices, {name}"), |bencher| {
            bencher.iter(|| runtime.block_on(page(who, wanted.clone())));
        });
    }
    let mut middle = wanted("", "kind 3", "");
    for _ in 0..20 {
        middle.page_token = runtime.block_on(page(who, middle.clone())).next_page_token;
    }
    criterion.bench_function(&format!("{kind:?}: notices, the twenty-first page of a kind"), |bencher| {
        bencher.iter(|| runtime.block_on(page(who, middle.clone())));
    });
}

fn bench(criterion: &mut Criterion) {
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    for kind in DatabaseKind::ALL.into_iter().filter(|kind| kind.is_here()) {
        let database = Database::fresh(kind);
        let served = Served::start(&ServedOptions::on(&database)).unwrap();
        let tove = runtime.block_on(crew(&served, &database));
        pages(criterion, &runtime, kind, &tove);
        served.stop().unwrap();
    }
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(20).warm_up_time(Duration::from_millis(500))
        .measurement_time(Duration::from_secs(2));
    targets = bench
}
criterion_main!(benches);
