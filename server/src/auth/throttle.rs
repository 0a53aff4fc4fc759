//! Slows down guessing of passwords and codes: never locks out, never grows without bound.
//!
//! Only failures cost. Each is counted against the address, against the name from that address, and against the name
//! from everywhere; the last does not apply to an address from which the name was signed in before, so that strangers
//! who guess at a name cannot keep its owner out.

use std::collections::BTreeMap;
use std::net::IpAddr;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

/// Most counters kept; the longest unused go first.
const MOST_COUNTERS: usize = 10_000;

/// How many failures are free, and how long one takes to be forgotten.
#[derive(Clone, Copy, Debug)]
struct Allowance {
    free: f64,
    forgotten_after: Duration,
}

/// Against one address: a household or a yard shares one.
const BY_ADDRESS: Allowance = Allowance { free: 30.0, forgotten_after: Duration::from_secs(2) };
/// Against one name from one address.
const BY_BOTH: Allowance = Allowance { free: 6.0, forgotten_after: Duration::from_secs(5) };
/// Against one name from everywhere.
const BY_NAME: Allowance = Allowance { free: 20.0, forgotten_after: Duration::from_secs(3) };

#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Key {
    Address(IpAddr),
    Both(String, IpAddr),
    Name(String),
    Known(String, IpAddr),
}

#[derive(Clone, Copy, Debug)]
struct Counter {
    failures: f64,
    at: Instant,
}

/// Failures of late.
#[derive(Debug, Default)]
pub struct Throttle {
    counters: Mutex<BTreeMap<Key, Counter>>,
}

impl Throttle {
    /// How long this caller has to wait before a try at this name; zero: go on.
    pub fn wait(&self, name: &str, address: IpAddr, now: Instant) -> Duration {
        let counters = self.counters.lock().unwrap_or_else(PoisonError::into_inner);
        let known = counters.contains_key(&Key::Known(name.to_owned(), address));
        let own = [(Key::Address(address), BY_ADDRESS), (Key::Both(name.to_owned(), address), BY_BOTH)];
        let shared = (!known).then(|| (Key::Name(name.to_owned()), BY_NAME));
        let waits = own.into_iter().chain(shared).map(|(key, allowance)| {
            let failures = counters.get(&key).map_or(0.0, |counter| left(*counter, allowance, now));
            allowance.forgotten_after.mul_f64((failures - allowance.free + 1.0).max(0.0))
        });
        waits.max().unwrap_or_default()
    }

    /// Counts a failed try.
    pub fn failed(&self, name: &str, address: IpAddr, now: Instant) {
        let mut counters = self.counters.lock().unwrap_or_else(PoisonError::into_inner);
        for (key, allowance) in [
            (Key::Address(address), BY_ADDRESS),
            (Key::Both(name.to_owned(), address), BY_BOTH),
            (Key::Name(name.to_owned()), BY_NAME),
        ] {
            let failures = counters.get(&key).map_or(0.0, |counter| left(*counter, allowance, now));
            // More than the free ones and one is never remembered, so the wait never grows beyond one step.
            counters.insert(key, Counter { failures: (failures + 1.0).min(allowance.free), at: now });
        }
        bound(&mut counters);
    }

    /// Forgets the failures of a name from an address that got it right, and remembers the address.
    pub fn succeeded(&self, name: &str, address: IpAddr, now: Instant) {
        let mut counters = self.counters.lock().unwrap_or_else(PoisonError::into_inner);
        counters.remove(&Key::Both(name.to_owned(), address));
        counters.insert(Key::Known(name.to_owned(), address), Counter { failures: 0.0, at: now });
        bound(&mut counters);
    }
}

fn left(counter: Counter, allowance: Allowance, now: Instant) -> f64 {
    let forgotten = now.saturating_duration_since(counter.at).as_secs_f64() / allowance.forgotten_after.as_secs_f64();
    (counter.failures - forgotten).max(0.0)
}

/// Forgets the tenth that was unused longest, once there are too many: one sweep now and then, not one a failure.
fn bound(counters: &mut BTreeMap<Key, Counter>) {
    if counters.len() <= MOST_COUNTERS {
        return;
    }
    let mut ages: Vec<Instant> = counters.values().map(|counter| counter.at).collect();
    ages.sort_unstable();
    if let Some(cut) = ages.get(MOST_COUNTERS / 10).copied() {
        counters.retain(|_, counter| counter.at > cut);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::net::Ipv4Addr;

    const HOME: IpAddr = IpAddr::V4(Ipv4Addr::new(192, 0, 2, 1));

    fn elsewhere(n: u16) -> IpAddr {
        let [high, low] = n.to_be_bytes();
        IpAddr::V4(Ipv4Addr::new(198, 51, high, low))
    }

    #[test]
    fn a_few_mistakes_cost_nothing_and_more_cost_time_but_never_the_door() {
        let (throttle, start) = (Throttle::default(), Instant::now());
        for _ in 0..5 {
            assert_eq!(throttle.wait("ines", HOME, start), Duration::ZERO);
            throttle.failed("ines", HOME, start);
        }
        throttle.failed("ines", HOME, start);
        let wait = throttle.wait("ines", HOME, start);
        assert!(wait > Duration::ZERO && wait <= Duration::from_secs(5), "{wait:?}");
        for _ in 0..1000 {
            throttle.failed("ines", HOME, start);
        }
        assert!(throttle.wait("ines", HOME, start) <= Duration::from_secs(5), "slows, does not lock out");
        assert_eq!(throttle.wait("ines", HOME, start + Duration::from_secs(6)), Duration::ZERO);
    }

    #[test]
    fn one_address_cannot_try_many_names() {
        let (throttle, start) = (Throttle::default(), Instant::now());
        for n in 0..40 {
            throttle.failed(&format!("name-{n}"), HOME, start);
        }
        assert!(throttle.wait("fresh", HOME, start) > Duration::ZERO);
        assert_eq!(throttle.wait("fresh", elsewhere(1), start), Duration::ZERO);
    }

    #[test]
    fn strangers_who_guess_at_a_name_do_not_keep_its_owner_out() {
        let (throttle, start) = (Throttle::default(), Instant::now());
        throttle.succeeded("ines", HOME, start);
        for n in 0..100 {
            throttle.failed("ines", elsewhere(n), start);
        }
        assert!(throttle.wait("ines", elsewhere(5000), start) > Duration::ZERO);
        assert_eq!(throttle.wait("ines", HOME, start), Duration::ZERO);
    }

    #[test]
    fn the_memory_is_bounded() {
        let (throttle, start) = (Throttle::default(), Instant::now());
        for n in 0..5000 {
            throttle.failed(&format!("name-{n}"), elsewhere(n), start + Duration::from_millis(u64::from(n)));
        }
        let kept = throttle.counters.lock().map_or(0, |counters| counters.len());
        assert!(kept <= MOST_COUNTERS, "{kept}");
    }
}
