//! Hashing and verifying passwords: argon2id in a bounded pool.
//!
//! A hash takes 19 MiB and some 15 ms, so only a few run at a time. The permit is owned by the blocking closure: when a
//! caller goes away its hash still runs, and must still count.

use argon2::password_hash::phc::PasswordHash;
use argon2::{Algorithm, Argon2, Params, PasswordHasher, PasswordVerifier, Version};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use tokio::sync::Semaphore;

/// Memory in KiB, passes, lanes: OWASP's first recommendation for argon2id (from memory of its password cheat sheet).
const MEMORY_KIB: u32 = 19_456;
const PASSES: u32 = 2;
const LANES: u32 = 1;
/// More callers than this waiting for a hash are sent away.
const MOST_WAITING: usize = 64;

/// Why there is no answer.
#[derive(Debug, thiserror::Error)]
pub enum PasswordError {
    /// Too many hashes are waiting.
    #[error("too many passwords are being checked")]
    Busy,
    /// The hash failed: no random numbers, no memory, or a stored hash that is none.
    #[error("a password could not be hashed: {cause}")]
    Failed {
        /// Why.
        cause: String,
    },
}

/// Outcome of a comparison.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verified {
    /// Not the password.
    Wrong,
    /// The password.
    Right,
    /// The password, but hashed with other parameters than today's: hash it again.
    RightButOld,
}

/// The bounded pool.
pub struct Passwords {
    running: Arc<Semaphore>,
    waiting: Arc<AtomicUsize>,
    /// Hash of nothing anyone knows, compared with when the name is unknown so that the answer takes as long.
    dummy: String,
}

impl Passwords {
    /// A pool that runs so many hashes at a time. The dummy is hashed here, once, and must be known again and told from
    /// another: a hash that fails or takes anything shows at the start and not at the first caller.
    ///
    /// # Errors
    /// [`PasswordError::Failed`], also when that self-test fails.
    pub fn new(at_a_time: usize) -> Result<Self, PasswordError> {
        let unknown = super::codes::refresh_token().map_err(|error| failed(&error))?;
        let dummy = hash_now(&unknown)?;
        if verify_now(&unknown, &dummy)? != Verified::Right || verify_now("another", &dummy)? != Verified::Wrong {
            return Err(failed(&"the self-test of hashing failed"));
        }
        Ok(Self { running: Arc::new(Semaphore::new(at_a_time.max(1))), waiting: Arc::default(), dummy })
    }

    /// The hash of a password, with a salt of its own.
    ///
    /// # Errors
    /// [`PasswordError`].
    pub async fn hash(&self, password: String) -> Result<String, PasswordError> {
        self.run(move || hash_now(&password)).await
    }

    /// Compares a password with a stored hash; without one, with the dummy, which is always wrong.
    ///
    /// # Errors
    /// [`PasswordError`].
    pub async fn verify(&self, password: String, stored: Option<String>) -> Result<Verified, PasswordError> {
        let known = stored.is_some();
        let stored = stored.unwrap_or_else(|| self.dummy.clone());
        let verified = self.run(move || verify_now(&password, &stored)).await?;
        Ok(if known { verified } else { Verified::Wrong })
    }

    async fn run<T: Send + 'static>(
        &self,
        work: impl FnOnce() -> Result<T, PasswordError> + Send + 'static,
    ) -> Result<T, PasswordError> {
        let place = Waiting::take(&self.waiting)?;
        let permit = Arc::clone(&self.running).acquire_owned().await.map_err(|error| failed(&error))?;
        drop(place);
        let work = move || {
            let _permit = permit;
            work()
        };
        tokio::task::spawn_blocking(work).await.map_err(|error| failed(&error))?
    }
}

/// A place in the queue, given back however the wait ends.
struct Waiting(Arc<AtomicUsize>);

impl Waiting {
    fn take(count: &Arc<AtomicUsize>) -> Result<Self, PasswordError> {
        let before = count.fetch_add(1, Ordering::AcqRel);
        let place = Self(Arc::clone(count));
        if before >= MOST_WAITING { Err(PasswordError::Busy) } else { Ok(place) }
    }
}

impl Drop for Waiting {
    fn drop(&mut self) {
        self.0.fetch_sub(1, Ordering::AcqRel);
    }
}

fn failed(error: &dyn std::fmt::Display) -> PasswordError {
    PasswordError::Failed { cause: error.to_string() }
}

fn argon2id() -> Result<Argon2<'static>, PasswordError> {
    let params = Params::new(MEMORY_KIB, PASSES, LANES, None).map_err(|error| failed(&error))?;
    Ok(Argon2::new(Algorithm::Argon2id, Version::V0x13, params))
}

fn hash_now(password: &str) -> Result<String, PasswordError> {
    let hash = argon2id()?.hash_password(password.as_bytes()).map_err(|error| failed(&error))?;
    Ok(hash.to_string())
}

fn verify_now(password: &str, stored: &str) -> Result<Verified, PasswordError> {
    let hash = PasswordHash::new(stored).map_err(|error| failed(&error))?;
    let argon2 = argon2id()?;
    if argon2.verify_password(password.as_bytes(), &hash).is_err() {
        return Ok(Verified::Wrong);
    }
    let todays = format!("$argon2id$v=19$m={MEMORY_KIB},t={PASSES},p={LANES}$");
    Ok(if stored.starts_with(&todays) { Verified::Right } else { Verified::RightButOld })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
    use super::*;

    #[tokio::test]
    async fn a_password_is_known_again_and_no_other() {
        let pool = Passwords::new(2).unwrap();
        let hash = pool.hash("a berth over the wheels".into()).await.unwrap();
        assert!(hash.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"), "{hash}");
        assert_eq!(pool.verify("a berth over the wheels".into(), Some(hash.clone())).await.unwrap(), Verified::Right);
        assert_eq!(pool.verify("a berth over the Wheels".into(), Some(hash.clone())).await.unwrap(), Verified::Wrong);
        assert_ne!(pool.hash("a berth over the wheels".into()).await.unwrap(), hash, "each has its own salt");
        assert_eq!(pool.verify("anything".into(), None).await.unwrap(), Verified::Wrong);
    }

    #[tokio::test]
    async fn a_hash_with_other_parameters_is_taken_and_wants_renewing() {
        let params = Params::new(8192, 1, 1, None).unwrap();
        let old = Argon2::new(Algorithm::Argon2id, Version::V0x13, params);
        let hash = old.hash_password(b"a berth over the wheels").unwrap().to_string();
        let pool = Passwords::new(1).unwrap();
        assert_eq!(pool.verify("a berth over the wheels".into(), Some(hash)).await.unwrap(), Verified::RightButOld);
    }

    #[tokio::test]
    async fn a_stored_hash_that_is_none_is_an_error_and_no_way_in() {
        let pool = Passwords::new(1).unwrap();
        assert!(pool.verify(String::new(), Some(String::new())).await.is_err());
    }
}
