//! The harness: a fresh database, a server on a free port, people who act.

mod actors;
mod bench;
mod database;
pub mod earlier;
pub mod frames;
mod limited;
mod process;
pub mod rows;
mod served;

pub use actors::{Actor, Bearer, Ear, GROUP, Wire, by_id};
pub use bench::{Bench, Crew, on_both, on_both_with, on_postgres};
pub use database::{Database, DatabaseKind, POSTGRES};
pub use limited::{Limited, limited_command};
pub use process::ServerProcess;
pub use served::{Served, ServedOptions};

use tonic::{Code, Status};

/// Asks that a call was refused with this code, and gives the refusal.
///
/// # Panics
/// Where it was allowed, or refused with another code.
#[track_caller]
#[allow(clippy::panic, reason = "a failed step is a failed test")]
pub fn refused<T: std::fmt::Debug>(result: Result<T, Status>, code: Code) -> Status {
    match result {
        Ok(answer) => panic!("allowed, {code:?} was expected: {answer:?}"),
        Err(status) => {
            assert_eq!(status.code(), code, "{}", status.message());
            assert!(!status.message().is_empty(), "a refusal without a word");
            status
        }
    }
}

/// Runs a future to its end on a runtime of its own.
///
/// # Panics
/// Where there can be no runtime.
#[allow(clippy::expect_used, reason = "without a runtime there is no test")]
pub fn block_on<T>(work: impl Future<Output = T>) -> T {
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build();
    runtime.expect("a runtime").block_on(work)
}

/// The claims of an access token, unchecked.
///
/// # Panics
/// Where it is no token.
#[allow(clippy::expect_used, reason = "a failed step is a failed test")]
pub fn claims_of(token: &str) -> serde_json::Value {
    let body = token.split('.').nth(1).expect("a token of three parts");
    serde_json::from_slice(&unbase64url(body)).expect("claims in JSON")
}

/// Base64 for tokens: no padding, `-` and `_`.
pub fn base64url(bytes: &[u8]) -> String {
    let mut text = String::new();
    for chunk in bytes.chunks(3) {
        let bits = chunk.iter().fold(0_u32, |bits, byte| bits << 8 | u32::from(*byte)) << (8 * (3 - chunk.len()));
        for place in 0..=chunk.len() {
            let digit = bits >> (18 - 6 * place) & 63;
            text.push(char::from(BASE64URL[digit as usize]));
        }
    }
    text
}

const BASE64URL: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";

fn unbase64url(text: &str) -> Vec<u8> {
    let mut bytes = Vec::new();
    let (mut bits, mut count) = (0_u32, 0);
    for digit in text.bytes().filter_map(|byte| BASE64URL.iter().position(|known| *known == byte)) {
        bits = bits << 6 | digit as u32;
        count += 6;
        if count >= 8 {
            count -= 8;
            bytes.push((bits >> count & 0xff) as u8);
        }
    }
    bytes
}

#[cfg(test)]
mod tests {
    use super::{base64url, unbase64url};

    #[test]
    fn base64url_goes_there_and_back() {
        // RFC 4648 section 10, without padding.
        for (bytes, text) in [("", ""), ("f", "Zg"), ("fo", "Zm8"), ("foo", "Zm9v"), ("foobar", "Zm9vYmFy")] {
            assert_eq!(base64url(bytes.as_bytes()), text);
            assert_eq!(unbase64url(text), bytes.as_bytes());
        }
        assert_eq!(base64url(&[0xfb, 0xff]), "-_8");
    }
}
