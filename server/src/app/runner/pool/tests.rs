//! The pool with engines that behave badly.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at the first surprise")]

use super::*;
use std::sync::atomic::AtomicUsize;

const INES: Uuid = Uuid::from_u128(1);
const OKORO: Uuid = Uuid::from_u128(2);

fn limits() -> PoolLimits {
    PoolLimits {
        places: 1,
        memory_bytes: 1_000_000_000,
        waiting: 8,
        waiting_of_account: 4,
        longest: Duration::from_secs(20),
    }
}

fn frame() -> Frame {
    let text = "format = 1\nname = \"bar\"\ntitle = \"A bar\"\n[vehicle]\nname = \"Curlew\"\nsurvey = 1\n[[stock]]\n\
                name = \"s\"\nsection = { width = 45, depth = 70 }\nmaterial = \"C16\"\n[[members]]\ntag = \"B1\"\n\
                kind = \"bearer\"\nstock = \"s\"\nfrom = [0, 0, 0]\nto = [900, 0, 0]\n[[anchors]]\nmember = \"B1\"\n\
                at = \"both\"\nto = \"wall\"\nhold = \"rigid\"\n[[loads]]\ncase = \"gear\"\naction = \"stowage\"\n\
                member = \"B1\"\nat = 450\nforce = [0, 0, -100]\n";
    battenboard_designfile::read_frame(text).map_err(|found| format!("{found:?}")).unwrap().1
}

fn job(account: Uuid, key: Option<u8>, longest_ms: u64) -> Job {
    Job {
        account,
        key: key.map(|n| Key { content_id: vec![n], settings_id: vec![0], engine_fingerprint: "f".into() }),
        frame: frame(),
        ask: Ask::default(),
        longest: Duration::from_millis(longest_ms),
    }
}

/// Waits until it is told to stop.
fn endless(_: &Frame, _: Ask, stop: &dyn Fn() -> bool) -> Result<Findings, Failure> {
    while !stop() {
        std::thread::sleep(Duration::from_millis(1));
    }
    Err(Failure::Stopped)
}

#[tokio::test]
async fn a_panic_is_a_failed_check_and_the_next_one_runs() {
    let count = Arc::new(AtomicUsize::new(0));
    let counted = Arc::clone(&count);
    let pool = CheckPool::asking(
        limits(),
        Arc::new(move |frame: &Frame, ask: Ask, stop: &dyn Fn() -> bool| {
            if counted.fetch_add(1, Ordering::SeqCst) == 0 {
                panic!("the engine fell over");
            }
            engine::run(frame, ask, stop)
        }),
    );
    let first = pool.submit(job(INES, Some(1), 5000)).unwrap().outcome().await;
    assert_eq!(first.as_ref().as_ref().err(), Some(&Failure::Crashed("the engine fell over".into())));
    let second = pool.submit(job(INES, Some(1), 5000)).unwrap().outcome().await;
    assert!(second.is_ok(), "{second:?}");
}

#[tokio::test]
async fn the_same_key_is_computed_once() {
    let count = Arc::new(AtomicUsize::new(0));
    let counted = Arc::clone(&count);
    let pool = CheckPool::asking(
        limits(),
        Arc::new(move |frame: &Frame, ask: Ask, stop: &dyn Fn() -> bool| {
            counted.fetch_add(1, Ordering::SeqCst);
            std::thread::sleep(Duration::from_millis(50));
            engine::run(frame, ask, stop)
        }),
    );
    let mut tickets: Vec<Ticket> = (0..6).map(|_| pool.submit(job(INES, Some(1), 5000)).unwrap()).collect();
    for ticket in &mut tickets {
        assert!(ticket.outcome().await.is_ok());
    }
    assert_eq!(count.load(Ordering::SeqCst), 1);
}

#[tokio::test]
async fn a_trial_stops_when_its_caller_has_gone_and_a_long_check_at_its_deadline() {
    let pool = CheckPool::asking(limits(), Arc::new(endless));
    drop(pool.submit(job(INES, None, 20_000)).unwrap());
    let late = pool.submit(job(OKORO, None, 30)).unwrap().outcome().await;
    assert_eq!(late.as_ref().as_ref().err(), Some(&Failure::TooLong));
}

#[tokio::test]
async fn the_queue_is_bounded_and_what_nobody_wants_makes_room() {
    let pool = CheckPool::asking(limits(), Arc::new(endless));
    let running = pool.submit(job(INES, Some(0), 20_000)).unwrap();
    assert!(!running.withdraw(), "it runs already");
    let waiting: Vec<Ticket> = (1..5).map(|n| pool.submit(job(INES, Some(n), 20_000)).unwrap()).collect();
    assert!(matches!(pool.submit(job(INES, Some(9), 20_000)), Err(AppError::TooMany { .. })), "one account");
    let mut others: Vec<Ticket> = (10..14).map(|n| pool.submit(job(OKORO, Some(n), 20_000)).unwrap()).collect();
    let third = Uuid::from_u128(3);
    assert!(matches!(pool.submit(job(third, None, 20_000)), Err(AppError::TooMany { .. })), "all together");
    assert!(waiting.iter().all(Ticket::withdraw));
    assert!(pool.submit(job(third, None, 20_000)).is_ok());
    pool.stop();
    for ticket in &mut others {
        assert_eq!(ticket.outcome().await.as_ref().as_ref().err(), Some(&Failure::Stopped));
    }
}

#[tokio::test]
async fn another_accounts_check_is_next_in_line() {
    let order = Arc::new(Mutex::new(Vec::new()));
    let seen = Arc::clone(&order);
    let pool = CheckPool::asking(
        limits(),
        Arc::new(move |_: &Frame, ask: Ask, _: &dyn Fn() -> bool| {
            std::thread::sleep(Duration::from_millis(20));
            seen.lock().unwrap().push(ask.results);
            Err(Failure::Stopped)
        }),
    );
    // What is asked tells whose it is.
    let mut tickets: Vec<Ticket> = (0..5).map(|n| pool.submit(job(INES, Some(n), 5000)).unwrap()).collect();
    let theirs = Job { ask: Ask { results: true, mends: false }, ..job(OKORO, Some(20), 5000) };
    tickets.push(pool.submit(theirs).unwrap());
    for ticket in &mut tickets {
        ticket.outcome().await;
    }
    let place = order.lock().unwrap().iter().position(|theirs| *theirs);
    assert!(place.is_some_and(|place| place <= 2), "{place:?}");
}

#[tokio::test]
async fn a_frame_that_could_never_run_is_refused() {
    let pool = CheckPool::new(PoolLimits { memory_bytes: 1000, ..limits() });
    assert!(matches!(pool.submit(job(INES, None, 5000)), Err(AppError::Invalid { .. })));
}
