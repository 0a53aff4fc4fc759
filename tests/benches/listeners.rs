//! A thousand listeners: how long from the call that writes an event until the last of them has it, on SQLite and, where
//! `BATTENBOARD_TEST_POSTGRES` names a server, on PostgreSQL. Time counts from the moment the writer sends his call, so
//! that the write itself is within it. Server, writer and all listeners share this machine.
#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    missing_docs,
    reason = "a failed step is a failed bench, and its figures are printed"
)]

use battenboard_proto::v1;
use battenboard_tests::harness::frames::one_bearer;
use battenboard_tests::harness::{Actor, Database, DatabaseKind, GROUP, Served, ServedOptions};
use std::sync::mpsc;
use std::time::{Duration, Instant};
use tokio::runtime::Runtime;

const LISTENERS: usize = 1000;
/// Accounts, each on a connection of its own; a connection carries 128 streams at most.
const ACCOUNTS: usize = 10;
const EVENTS: usize = 40;

fn main() {
    // `cargo test --benches` asks only whether it starts.
    let events = if std::env::args().any(|argument| argument == "--bench") { EVENTS } else { 2 };
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    for kind in DatabaseKind::ALL {
        if kind.is_here() {
            on(kind, &runtime, events);
        } else {
            println!("{kind:?}: not run");
        }
    }
}

fn on(kind: DatabaseKind, runtime: &Runtime, events: usize) {
    let database = Database::fresh(kind);
    let mut options = ServedOptions::on(&database);
    options.config.limits.streams_of_account = LISTENERS;
    let served = Served::start(&options).unwrap();
    // On PostgreSQL the listeners are at another server than the writer: word of the commit has the longer way.
    let second = (kind == DatabaseKind::Postgres).then(|| Served::start(&options).unwrap());
    let there = second.as_ref().unwrap_or(&served);
    let (tell, told) = mpsc::channel();
    let writer = runtime.block_on(async {
        let writer = Actor::stranger(served.channel().await.unwrap()).makes_account("ines", None).await.unwrap();
        writer.founds(GROUP).await.unwrap();
        writer.submits(GROUP, "shelf", &one_bearer("shelf", 800.0), "").await.unwrap();
        for number in 0..ACCOUNTS {
            let name = format!("crew-{number}");
            let who = writer.lets_in(&name, GROUP, v1::Right::Onlooker).await.unwrap();
            let who = who.through(there.channel().await.unwrap());
            for _ in 0..LISTENERS / ACCOUNTS {
                let mut ear = who.listens("").await.unwrap();
                ear.catches_up().await.unwrap();
                let tell = tell.clone();
                tokio::spawn(async move {
                    loop {
                        match ear.message().await {
                            Ok(message) => message.events.iter().for_each(|event| {
                                let _ = tell.send((event.remark_number, Instant::now()));
                            }),
                            // Nothing for ten seconds is nothing to worry about here.
                            Err(status) if status.code() == tonic::Code::DeadlineExceeded => {}
                            Err(_) => return,
                        }
                    }
                });
            }
        }
        writer
    });
    // Those who entered after the first began to listen were news as well.
    std::thread::sleep(Duration::from_secs(2));
    while told.try_recv().is_ok() {}
    let (mut to_last, mut to_median) = (Vec::new(), Vec::new());
    for _ in 0..events {
        let begun = Instant::now();
        let remark = runtime.block_on(writer.remarks_on(GROUP, "shelf", "B1", "well?")).unwrap();
        let mut times: Vec<f64> = Vec::new();
        while times.len() < LISTENERS {
            let (number, at) = told.recv_timeout(Duration::from_secs(10)).unwrap();
            assert_eq!(number, remark.number, "another event than the one that was written");
            times.push((at - begun).as_secs_f64() * 1e3);
        }
        times.sort_by(f64::total_cmp);
        to_median.push(times[LISTENERS / 2]);
        to_last.push(times[LISTENERS - 1]);
        std::thread::sleep(Duration::from_millis(50));
    }
    to_last.sort_by(f64::total_cmp);
    to_median.sort_by(f64::total_cmp);
    println!(
        "{kind:?}, {}: {LISTENERS} listeners, {events} events: the median listener after {:.0} ms, the last after \
         {:.0} ms (medians), {:.0} ms at worst; 1000 ms is asked",
        if second.is_some() { "writer and listeners at two servers" } else { "one server" },
        to_median[events / 2],
        to_last[events / 2],
        to_last[events - 1],
    );
    second.map(Served::stop);
    served.stop().unwrap();
}
