//! One account floods the queue of checks with a thousand large designs; another asks for the check of the demo platform.
//! On SQLite, and on PostgreSQL where `BATTENBOARD_TEST_POSTGRES` names a server.
//!
//! Asked: the other's answer under twice the time it takes on an idle server. Flood, caller and server share this machine,
//! and the large checks keep computing on all but one of its places.
#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    missing_docs,
    reason = "a failed step is a failed bench, and its figures are printed"
)]

use battenboard_proto::v1;
use battenboard_tests::harness::frames::{CURLEW, curlew_again, row_of_trestles};
use battenboard_tests::harness::{Actor, Database, DatabaseKind, GROUP, Served, ServedOptions};
use std::time::{Duration, Instant};
use tokio::runtime::Runtime;

const FLOOD: usize = 1000;
/// Callers of the flooding account at a time.
const AT_ONCE: usize = 16;
const ANSWERS: usize = 30;
/// Trestles of a frame of 965 members.
const BAYS: u32 = 240;

fn main() {
    // `cargo test --benches` asks only whether it starts.
    let whole = std::env::args().any(|argument| argument == "--bench");
    let (flood, answers) = if whole { (FLOOD, ANSWERS) } else { (8, 2) };
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    for kind in DatabaseKind::ALL {
        if kind.is_here() {
            on(kind, &runtime, flood, answers);
        } else {
            println!("{kind:?}: not run");
        }
    }
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort_unstable();
    times[times.len() / 2]
}

/// Times of trial checks and of submits with their findings, each of a frame that was never checked before.
fn answers(runtime: &Runtime, who: &Actor, count: usize, from: u64, letter: &mut String) -> [Vec<Duration>; 2] {
    let mut times = [Vec::new(), Vec::new()];
    for number in (from..).take(count) {
        let text =
            CURLEW.replace("to = [3650, -850, 535]", &format!("to = [{}, -850, 535]", 3650.5 + number as f64 * 1e-3));
        let begun = Instant::now();
        runtime.block_on(who.designs().try_frame(v1::TryFrameRequest { text, ..Default::default() })).unwrap();
        times[0].push(begun.elapsed());
        let text = curlew_again("curlew", number);
        let begun = Instant::now();
        let made = runtime.block_on(who.submits(GROUP, "curlew", &text, letter)).unwrap();
        runtime.block_on(who.waits_for_findings(GROUP, "curlew", "")).unwrap();
        times[1].push(begun.elapsed());
        *letter = made.revision.unwrap().letter;
    }
    times
}

async fn floods(who: &Actor, count: usize) {
    let mut callers = tokio::task::JoinSet::new();
    for caller in 0..AT_ONCE {
        let who = who.clone();
        callers.spawn(async move {
            for number in (caller..count).step_by(AT_ONCE) {
                let name = format!("row-{number}");
                while let Err(status) = who.submits(GROUP, &name, &row_of_trestles(&name, BAYS), "").await {
                    assert_eq!(status.code(), tonic::Code::ResourceExhausted, "{status:?}");
                    tokio::time::sleep(Duration::from_millis(200)).await;
                }
            }
        });
    }
    callers.join_all().await;
}

async fn left(who: &Actor) -> usize {
    let (mut left, mut page_token) = (0, String::new());
    loop {
        let list = v1::ListDesignsRequest { group: GROUP.into(), page_size: 200, page_token };
        let page = who.designs().list_designs(list).await.unwrap().into_inner();
        let done = i32::from(v1::CheckState::Done);
        left += page.designs.iter().filter(|design| design.latest_check_state != done).count();
        page_token = page.next_page_token;
        if page_token.is_empty() {
            return left;
        }
    }
}

fn on(kind: DatabaseKind, runtime: &Runtime, flood: usize, count: usize) {
    let database = Database::fresh(kind);
    let served = Served::start(&ServedOptions::on(&database)).unwrap();
    let (flooder, other) = runtime.block_on(async {
        let flooder = Actor::stranger(served.channel().await.unwrap()).makes_account("ines", None).await.unwrap();
        flooder.founds(GROUP).await.unwrap();
        let other = flooder.lets_in("okoro", GROUP, v1::Right::Builder).await.unwrap();
        (flooder, other.through(served.channel().await.unwrap()))
    });
    let mut letter = String::new();
    answers(runtime, &other, 2, 0, &mut letter);
    let alone = answers(runtime, &other, count, 10, &mut letter);
    let begun = Instant::now();
    runtime.block_on(floods(&flooder, flood));
    let (took, before) = (begun.elapsed(), runtime.block_on(left(&flooder)));
    let beside = answers(runtime, &other, count, 10_000, &mut letter);
    let after = runtime.block_on(left(&flooder));
    println!(
        "{kind:?}: {flood} large designs came in {took:.1?}; {before} waited when the asking began, {after} at its end"
    );
    for (name, alone, beside) in [("trial", &alone[0], &beside[0]), ("submit to findings", &alone[1], &beside[1])] {
        let (alone, beside) = (median(alone.clone()), median(beside.clone()));
        println!(
            "{kind:?}: {name} {alone:.1?} alone, {beside:.1?} beside the flood: {:.2} times; under 2 is asked",
            beside.as_secs_f64() / alone.as_secs_f64()
        );
    }
    served.stop().unwrap();
}
