//! Calls a second, by account or by address; ten seconds' worth may come at once.

use crate::app::AppError;
use std::collections::BTreeMap;
use std::net::IpAddr;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};
use uuid::Uuid;

/// Seconds' worth of calls that may come at once.
const BURST_S: f64 = 10.0;
/// Most counters kept; full ones go first, then any.
const MOST: usize = 10_000;

/// Whose calls are counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Of {
    /// An account's.
    Account(Uuid),
    /// An address's, without an account.
    Address(IpAddr),
}

#[derive(Clone, Copy, Debug)]
struct Bucket {
    left: f64,
    at: Instant,
}

/// All counters.
pub struct Rates {
    per_second: f64,
    buckets: Mutex<BTreeMap<Of, Bucket>>,
}

impl Rates {
    /// So many calls a second for each.
    pub fn new(per_second: u32) -> Self {
        Self { per_second: f64::from(per_second.max(1)), buckets: Mutex::default() }
    }

    /// Counts a call.
    ///
    /// # Errors
    /// [`AppError::TooMany`] when there were too many.
    pub fn take(&self, of: Of) -> Result<(), AppError> {
        self.take_at(of, Instant::now())
    }

    fn take_at(&self, of: Of, now: Instant) -> Result<(), AppError> {
        let full = self.per_second * BURST_S;
        let mut buckets = self.buckets.lock().unwrap_or_else(PoisonError::into_inner);
        let refilled = |bucket: &Bucket| {
            let since = now.saturating_duration_since(bucket.at).as_secs_f64();
            (bucket.left + since * self.per_second).min(full)
        };
        if buckets.len() >= MOST && !buckets.contains_key(&of) {
            buckets.retain(|_, bucket| refilled(bucket) < full);
            if buckets.len() >= MOST {
                buckets.pop_first();
            }
        }
        let left = buckets.get(&of).map_or(full, refilled);
        if left < 1.0 {
            let retry_after = Duration::from_secs_f64((1.0 - left) / self.per_second);
            return Err(AppError::TooMany { what: "too many calls", retry_after });
        }
        buckets.insert(of, Bucket { left: left - 1.0, at: now });
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_burst_is_taken_and_then_the_rate() {
        let (rates, start) = (Rates::new(5), Instant::now());
        let of = Of::Account(Uuid::from_u128(1));
        for _ in 0..50 {
            assert!(rates.take_at(of, start).is_ok());
        }
        assert!(matches!(rates.take_at(of, start), Err(AppError::TooMany { .. })));
        assert!(rates.take_at(Of::Account(Uuid::from_u128(2)), start).is_ok(), "another account");
        assert!(rates.take_at(of, start + Duration::from_millis(250)).is_ok());
        assert!(rates.take_at(of, start + Duration::from_millis(260)).is_err());
    }

    #[test]
    fn the_memory_is_bounded() {
        let (rates, start) = (Rates::new(5), Instant::now());
        for n in 0..30_000_u128 {
            assert!(rates.take_at(Of::Account(Uuid::from_u128(n)), start).is_ok());
        }
        assert!(rates.buckets.lock().map_or(0, |buckets| buckets.len()) <= MOST);
    }
}
