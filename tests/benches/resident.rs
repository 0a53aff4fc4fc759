//! Resident memory of a server process: idle, after 5,000 submits with findings and after 10,000; and how soon after its
//! start the port is open. Bounds asked for: 30 MB idle, 80 MB at the end, under 5 MB of growth in the second half, 50 ms.
//!
//! Not a matter of medians, so no criterion; run with `MALLOC_ARENA_MAX=2` to see what the allocator keeps for itself.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::print_stdout,
    missing_docs,
    reason = "a failed step is a failed bench, and its figures are printed"
)]

use battenboard_proto::v1;
use battenboard_tests::harness::frames::curlew_again;
use battenboard_tests::harness::{Actor, Database, DatabaseKind, GROUP, ServerProcess, block_on};
use std::time::Instant;

const CALLERS: u64 = 8;
const SUBMITS: u64 = 10_000;

fn main() {
    // `cargo test --benches` asks only whether it starts.
    let submits = if std::env::args().any(|argument| argument == "--bench") { SUBMITS } else { 16 };
    let database = Database::fresh(DatabaseKind::Sqlite);
    drop(ServerProcess::start(env!("CARGO_BIN_EXE_battenboard"), &database));
    let started = Instant::now();
    let server = ServerProcess::start(env!("CARGO_BIN_EXE_battenboard"), &database);
    println!("address told after {:.0} ms (data folder there already)", started.elapsed().as_secs_f64() * 1e3);
    let megabytes = || server.resident_kb().map_or(f64::NAN, |kb| kb as f64 / 1024.0);
    block_on(async {
        tokio::time::sleep(std::time::Duration::from_secs(1)).await;
        println!("idle: {:.1} MB", megabytes());
        let first = Actor::stranger(server.channel().await).makes_account("ines", None).await.unwrap();
        first.founds(GROUP).await.unwrap();
        let mut callers = Vec::new();
        for index in 0..CALLERS {
            callers.push(first.lets_in(&format!("crew-{index}"), GROUP, v1::Right::Builder).await.unwrap());
        }
        let mut letters = vec![String::new(); callers.len()];
        for half in 0..2 {
            let mut tasks = tokio::task::JoinSet::new();
            for (index, caller) in callers.iter().enumerate() {
                let (caller, letter) = (caller.clone(), letters[index].clone());
                tasks.spawn(submit(caller, index, letter, half * submits / 2, submits / 2 / CALLERS));
            }
            for (index, letter) in tasks.join_all().await {
                letters[index] = letter;
            }
            println!("after {} submits: {:.1} MB", (half + 1) * submits / 2, megabytes());
        }
    });
}

/// Submits `count` revisions of one caller's own design; gives the caller's index and the last letter.
async fn submit(caller: Actor, index: usize, mut letter: String, first: u64, count: u64) -> (usize, String) {
    let design = format!("curlew-{index}");
    for number in 0..count {
        let text = curlew_again(&design, first + number + 1);
        letter = caller.submits(GROUP, &design, &text, &letter).await.unwrap().revision.unwrap().letter;
        caller.waits_for_findings(GROUP, &design, &letter).await.unwrap();
    }
    (index, letter)
}
