//! The pool: jobs wait in a [`Round`], run on blocking threads, and answer through a watch, so that any number of
//! callers who ask for the same findings wait for one run.

use super::round::Round;
use super::{Failure, Outcome, ProofRun};
use crate::app::engine;
use crate::app::error::{AppError, AppResult};
use crate::store::findings::Key;
use battenboard_engine::Ask;
use battenboard_engine::design::Frame;
use battenboard_engine::findings::Findings;
use battenboard_engine::proof::{ProofLoad, ProofResult};
use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};
use tokio::sync::watch;
use uuid::Uuid;

/// A check that is predicted to take more memory than this is a long one: long ones never fill all places.
const LONG_BYTES: u64 = 16_000_000;

/// So many proof loads take as much memory again as the check of their frame.
const PROOFS_A_CHECK: u64 = 12;

/// Bounds of the pool.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PoolLimits {
    /// Checks at a time.
    pub places: usize,
    /// Predicted bytes of all checks at a time.
    pub memory_bytes: u64,
    /// Checks waiting, all accounts together.
    pub waiting: usize,
    /// Checks waiting, one account.
    pub waiting_of_account: usize,
    /// Longest run of one check.
    pub longest: Duration,
}

/// A check to be made.
pub struct Job {
    /// Whose turn it uses.
    pub account: Uuid,
    /// Under which key its findings will be kept; `None` for a trial.
    pub key: Option<Key>,
    /// What to check.
    pub frame: Frame,
    /// What for.
    pub ask: Ask,
    /// Longest run; never more than the pool's.
    pub longest: Duration,
}

/// A job on its way.
struct Waiting {
    job: Job,
    bytes: u64,
    flags: Arc<Flags>,
    answer: Answer,
}

/// What is asked beside the frame, and where the answer goes.
enum Answer {
    /// Findings.
    Check(watch::Sender<Option<Outcome>>),
    /// Results of proof loads.
    Prove(Vec<ProofLoad>, watch::Sender<Option<ProofRun>>),
}

/// A claim on the results of proof loads; dropped, it stops their run.
pub struct ProofTicket {
    answer: watch::Receiver<Option<ProofRun>>,
    flags: Arc<Flags>,
}

impl ProofTicket {
    /// How the run ended; waits for it.
    pub async fn outcome(&mut self) -> ProofRun {
        match self.answer.wait_for(Option::is_some).await {
            Ok(answer) => answer.clone().unwrap_or_else(|| Arc::new(Err(Failure::Stopped))),
            Err(_) => Arc::new(Err(Failure::Stopped)),
        }
    }
}

impl Drop for ProofTicket {
    fn drop(&mut self) {
        self.flags.stop.store(true, Ordering::Release);
    }
}

/// What a job and its tickets tell each other.
#[derive(Debug, Default)]
struct Flags {
    /// Nobody wants it any more.
    stop: AtomicBool,
    /// It has a place.
    started: AtomicBool,
}

#[derive(Default)]
struct State {
    round: Round<Waiting>,
    running: usize,
    running_long: usize,
    running_bytes: u64,
    /// Jobs with a key that wait or run: whoever asks for the same gets the same.
    by_key: BTreeMap<Key, (watch::Receiver<Option<Outcome>>, Arc<Flags>)>,
}

/// How a frame is checked: the engine, or in a test something that behaves badly.
type Run = dyn Fn(&Frame, Ask, &dyn Fn() -> bool) -> Result<Findings, Failure> + Send + Sync;

/// The queue and its places.
#[derive(Clone)]
pub struct CheckPool {
    limits: PoolLimits,
    run: Arc<Run>,
    state: Arc<Mutex<State>>,
    stopping: Arc<AtomicBool>,
}

/// A claim on an outcome.
pub struct Ticket {
    answer: watch::Receiver<Option<Outcome>>,
    flags: Arc<Flags>,
    /// This ticket's caller alone wants the outcome.
    stops_when_dropped: bool,
}

impl Ticket {
    /// How the check ended; waits for it.
    pub async fn outcome(&mut self) -> Outcome {
        match self.answer.wait_for(Option::is_some).await {
            Ok(answer) => answer.clone().unwrap_or_else(|| Arc::new(Err(Failure::Stopped))),
            Err(_) => Arc::new(Err(Failure::Stopped)),
        }
    }

    /// Takes a check that still waits out of the queue, for the database to keep; false when it runs already.
    pub fn withdraw(&self) -> bool {
        let waits = !self.flags.started.load(Ordering::Acquire);
        if waits {
            // Should it start at this very moment, it stops again and is made from the database: slower, never wrong.
            self.flags.stop.store(true, Ordering::Release);
        }
        waits
    }
}

impl Drop for Ticket {
    fn drop(&mut self) {
        if self.stops_when_dropped {
            self.flags.stop.store(true, Ordering::Release);
        }
    }
}

impl CheckPool {
    /// An empty pool that asks the engine.
    pub fn new(limits: PoolLimits) -> Self {
        Self::asking(limits, Arc::new(engine::run))
    }

    fn asking(limits: PoolLimits, run: Arc<Run>) -> Self {
        Self { limits, run, state: Arc::default(), stopping: Arc::default() }
    }

    /// Its bounds.
    pub fn limits(&self) -> PoolLimits {
        self.limits
    }

    /// Puts a check in the queue, or joins one of the same key that is on its way.
    ///
    /// A check without a key stops when its ticket is dropped.
    ///
    /// # Errors
    /// [`AppError::Invalid`] for a frame that could never run here, [`AppError::TooMany`] when the queue is full.
    pub fn submit(&self, job: Job) -> AppResult<Ticket> {
        let bytes = job.frame.predicted_bytes();
        self.refuse_large(bytes)?;
        let mut state = self.lock();
        if let Some((answer, flags)) = job.key.as_ref().and_then(|key| state.by_key.get(key))
            && !flags.stop.load(Ordering::Acquire)
        {
            return Ok(Ticket { answer: answer.clone(), flags: Arc::clone(flags), stops_when_dropped: false });
        }
        self.refuse_full(&mut state, job.account)?;
        let (answer, receiver) = watch::channel(None);
        let flags = Arc::<Flags>::default();
        let stops_when_dropped = job.key.is_none();
        if let Some(key) = &job.key {
            state.by_key.insert(key.clone(), (receiver.clone(), Arc::clone(&flags)));
        }
        let account = job.account;
        let answer = Answer::Check(answer);
        state.round.push(account, Waiting { job, bytes, flags: Arc::clone(&flags), answer });
        self.fill(&mut state);
        Ok(Ticket { answer: receiver, flags, stops_when_dropped })
    }

    /// Puts a run of proof loads in the same queue.
    ///
    /// # Errors
    /// As [`Self::submit`].
    pub fn prove(
        &self,
        account: Uuid,
        frame: Frame,
        loads: Vec<ProofLoad>,
        longest: Duration,
    ) -> AppResult<ProofTicket> {
        // Each load is one more solution of the frame's equations, twice where parts creep differently.
        let bytes = frame.predicted_bytes() / PROOFS_A_CHECK * (PROOFS_A_CHECK + loads.len() as u64);
        self.refuse_large(bytes)?;
        let mut state = self.lock();
        self.refuse_full(&mut state, account)?;
        let (answer, receiver) = watch::channel(None);
        let flags = Arc::<Flags>::default();
        let job = Job { account, key: None, frame, ask: Ask::default(), longest };
        let answer = Answer::Prove(loads, answer);
        state.round.push(account, Waiting { job, bytes, flags: Arc::clone(&flags), answer });
        self.fill(&mut state);
        Ok(ProofTicket { answer: receiver, flags })
    }

    fn refuse_large(&self, bytes: u64) -> AppResult<()> {
        if bytes <= self.limits.memory_bytes {
            return Ok(());
        }
        let (needs, most) = (bytes / 1_000_000, self.limits.memory_bytes / 1_000_000);
        let message = format!("this frame needs about {needs} MB to check, this server gives at most {most} MB");
        Err(AppError::invalid("frame", message))
    }

    /// Refuses a job when the queue is full, of all or of one account.
    fn refuse_full(&self, state: &mut State, account: Uuid) -> AppResult<()> {
        if state.round.len() >= self.limits.waiting {
            state.round.retain(|waiting| !waiting.flags.stop.load(Ordering::Acquire));
        }
        if state.round.len() >= self.limits.waiting || state.round.len_of(account) >= self.limits.waiting_of_account {
            return Err(AppError::TooMany { what: "too many checks are waiting", retry_after: Duration::from_secs(2) });
        }
        Ok(())
    }

    /// Stops every check: those that wait never start, those that run end at the next chance.
    pub fn stop(&self) {
        self.stopping.store(true, Ordering::Release);
        let mut state = self.lock();
        while let Some(waiting) = state.round.pop(|_| true) {
            finish(&mut state, &waiting, Err(Failure::Stopped));
        }
    }

    fn lock(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Starts jobs while there is a place for them.
    fn fill(&self, state: &mut State) {
        let long_places = self.limits.places.saturating_sub(1).max(1);
        while state.running < self.limits.places {
            let room = self.limits.memory_bytes - state.running_bytes;
            let long_fits = state.running_long < long_places;
            let next = state.round.pop(|waiting| waiting.bytes <= room && (long_fits || waiting.bytes <= LONG_BYTES));
            let Some(waiting) = next else { return };
            if waiting.flags.stop.load(Ordering::Acquire) {
                finish(state, &waiting, Err(Failure::Stopped));
                continue;
            }
            waiting.flags.started.store(true, Ordering::Release);
            state.running += 1;
            state.running_bytes += waiting.bytes;
            state.running_long += usize::from(waiting.bytes > LONG_BYTES);
            let pool = self.clone();
            tokio::task::spawn_blocking(move || pool.work(waiting));
        }
    }

    /// One job from start to answer, on a blocking thread.
    fn work(self, waiting: Waiting) {
        let deadline = Instant::now() + waiting.job.longest.min(self.limits.longest);
        let stopped = || waiting.flags.stop.load(Ordering::Acquire) || self.stopping.load(Ordering::Acquire);
        let stop = || stopped() || Instant::now() >= deadline;
        let job = &waiting.job;
        let result = match &waiting.answer {
            Answer::Check(_) => {
                contained(&stopped, || (self.run)(&job.frame, job.ask, &stop)).map(Box::new).map(Found::Findings)
            }
            Answer::Prove(loads, _) => {
                contained(&stopped, || engine::prove(&job.frame, loads, &stop)).map(Found::Proofs)
            }
        };
        let mut state = self.lock();
        state.running -= 1;
        state.running_bytes -= waiting.bytes;
        state.running_long -= usize::from(waiting.bytes > LONG_BYTES);
        finish(&mut state, &waiting, result);
        self.fill(&mut state);
    }
}

/// Runs the engine. It only reads the frame, so nothing half-changed is left behind by a panic.
fn contained<T>(stopped: &dyn Fn() -> bool, run: impl FnOnce() -> Result<T, Failure>) -> Result<T, Failure> {
    let result = match catch_unwind(AssertUnwindSafe(run)) {
        Ok(Err(Failure::Stopped)) if !stopped() => Err(Failure::TooLong),
        Ok(result) => result,
        Err(panic) => Err(Failure::Crashed(words(panic.as_ref()))),
    };
    if let Err(Failure::Crashed(cause)) = &result {
        tracing::error!(%cause, "the engine panicked; its check has failed, the server goes on");
    }
    result
}

/// What the engine found.
enum Found {
    Findings(Box<Findings>),
    Proofs(Vec<ProofResult>),
}

/// Gives the answer, and lets the next who asks for the same key begin anew (findings are in the store by then).
fn finish(state: &mut State, waiting: &Waiting, result: Result<Found, Failure>) {
    if let Some(key) = &waiting.job.key
        && state.by_key.get(key).is_some_and(|(_, flags)| Arc::ptr_eq(flags, &waiting.flags))
    {
        state.by_key.remove(key);
    }
    match (&waiting.answer, result) {
        (Answer::Check(answer), Ok(Found::Findings(found))) => drop(answer.send_replace(Some(Arc::new(Ok(*found))))),
        (Answer::Prove(_, answer), Ok(Found::Proofs(found))) => drop(answer.send_replace(Some(Arc::new(Ok(found))))),
        (answer, other) => {
            let crossed = || Failure::Crashed("the answer is to another question".into());
            let failure = other.err().unwrap_or_else(crossed);
            match answer {
                Answer::Check(answer) => drop(answer.send_replace(Some(Arc::new(Err(failure))))),
                Answer::Prove(_, answer) => drop(answer.send_replace(Some(Arc::new(Err(failure))))),
            }
        }
    }
}

fn words(panic: &(dyn std::any::Any + Send)) -> String {
    let text = panic.downcast_ref::<&str>().map(|text| (*text).to_owned());
    text.or_else(|| panic.downcast_ref::<String>().cloned()).unwrap_or_else(|| "a panic without words".into())
}

#[cfg(test)]
mod tests;
