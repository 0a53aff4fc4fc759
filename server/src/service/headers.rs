//! Headers of a call: the token, the deadline, and what the answer says of them.

use std::time::Duration;
use tonic::codegen::http::{HeaderMap, HeaderValue};

/// The token of `authorization: Bearer ...`.
pub fn bearer(headers: &HeaderMap) -> Option<&str> {
    let value = headers.get("authorization")?.to_str().ok()?;
    let (kind, token) = value.split_once(' ')?;
    kind.eq_ignore_ascii_case("bearer").then_some(token.trim())
}

/// The caller's deadline, from `grpc-timeout`: at most eight digits and a unit.
pub fn timeout(headers: &HeaderMap) -> Option<Duration> {
    let value = headers.get("grpc-timeout")?.to_str().ok()?;
    let (digits, unit) = value.split_at_checked(value.len().checked_sub(1)?)?;
    let count: u64 = digits.parse().ok().filter(|_| digits.len() <= 8)?;
    match unit {
        "H" => Some(Duration::from_secs(count * 3600)),
        "M" => Some(Duration::from_secs(count * 60)),
        "S" => Some(Duration::from_secs(count)),
        "m" => Some(Duration::from_millis(count)),
        "u" => Some(Duration::from_micros(count)),
        "n" => Some(Duration::from_nanos(count)),
        _ => None,
    }
}

/// The code of an answer that has no message, for the records.
pub fn code(headers: &HeaderMap) -> i32 {
    headers.get("grpc-status").and_then(|code| code.to_str().ok()).and_then(|code| code.parse().ok()).unwrap_or(0)
}

/// Makes a refusal of a message's size what the contract calls it: INVALID_ARGUMENT, as trying again is no use. The
/// library says OUT_OF_RANGE, or RESOURCE_EXHAUSTED for one that unpacks to too much.
pub fn rename_size_refusal(headers: &mut HeaderMap) {
    let message = headers.get("grpc-message").and_then(|message| message.to_str().ok()).unwrap_or_default();
    let refused = (code(headers) == 11 && message.contains("length%20too%20large"))
        || (code(headers) == 8 && message.contains("size%20limit"));
    if refused {
        headers.insert("grpc-status", HeaderValue::from_static("3"));
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
    use super::*;

    fn headers(name: &'static str, value: &str) -> HeaderMap {
        let mut headers = HeaderMap::new();
        headers.insert(name, HeaderValue::from_str(value).unwrap());
        headers
    }

    #[test]
    fn tokens_are_found() {
        assert_eq!(bearer(&headers("authorization", "Bearer abc")), Some("abc"));
        assert_eq!(bearer(&headers("authorization", "bearer abc")), Some("abc"));
        assert_eq!(bearer(&headers("authorization", "Basic abc")), None);
        assert_eq!(bearer(&headers("authorization", "Bearer")), None);
        assert_eq!(bearer(&HeaderMap::new()), None);
    }

    #[test]
    fn deadlines_are_read() {
        assert_eq!(timeout(&headers("grpc-timeout", "100m")), Some(Duration::from_millis(100)));
        assert_eq!(timeout(&headers("grpc-timeout", "2S")), Some(Duration::from_secs(2)));
        for odd in ["", "S", "123456789S", "1x", "-1S", "1"] {
            assert_eq!(timeout(&headers("grpc-timeout", odd)), None, "{odd}");
        }
    }
}
