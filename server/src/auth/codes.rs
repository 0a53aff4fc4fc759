//! Secrets that are handed out once and kept as hashes: refresh tokens and one-time codes.

use rand::TryRng;
use sha2::{Digest, Sha256};

/// Letters of a one-time code: none that reads like another.
const CODE_LETTERS: &[u8; 32] = b"abcdefghijkmnpqrstuvwxyz23456789";

/// Why a secret could not be made.
#[derive(Debug, thiserror::Error)]
#[error("the machine gives no random numbers: {cause}")]
pub struct NoRandomness {
    /// What it said.
    pub cause: String,
}

/// Random bytes from the machine.
///
/// # Errors
/// [`NoRandomness`] when it gives none.
pub fn random_bytes<const N: usize>() -> Result<[u8; N], NoRandomness> {
    let mut bytes = [0_u8; N];
    rand::rngs::SysRng.try_fill_bytes(&mut bytes).map_err(|error| NoRandomness { cause: error.to_string() })?;
    Ok(bytes)
}

/// A refresh token: 32 random bytes in hex.
///
/// # Errors
/// [`NoRandomness`].
pub fn refresh_token() -> Result<String, NoRandomness> {
    Ok(hex(&random_bytes::<32>()?))
}

/// A one-time code to read out or copy by hand: 20 letters, 100 bits, in groups of five.
///
/// # Errors
/// [`NoRandomness`].
pub fn one_time_code() -> Result<String, NoRandomness> {
    let letters = random_bytes::<20>()?.map(|byte| char::from(CODE_LETTERS[usize::from(byte % 32)]));
    let groups: Vec<String> = letters.chunks(5).map(|group| group.iter().collect()).collect();
    Ok(groups.join("-"))
}

/// The hash under which a secret is kept. Plain SHA-256 will do: the secrets are random, not chosen.
pub fn hash(secret: &str) -> Vec<u8> {
    Sha256::digest(secret.as_bytes()).to_vec()
}

/// The hash of a one-time code, however it was typed.
pub fn code_hash(code: &str) -> Vec<u8> {
    let plain: String = code.chars().filter(char::is_ascii_alphanumeric).map(|c| c.to_ascii_lowercase()).collect();
    hash(&plain)
}

/// Lower-case hex.
pub fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The bytes of lower- or upper-case hex.
pub fn unhex(text: &str) -> Option<Vec<u8>> {
    if !text.is_ascii() || !text.len().is_multiple_of(2) {
        return None;
    }
    (0..text.len()).step_by(2).map(|at| u8::from_str_radix(text.get(at..at + 2)?, 16).ok()).collect()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
    use super::{code_hash, hex, one_time_code, refresh_token, unhex};

    #[test]
    fn codes_differ_and_may_be_typed_loosely() {
        let (one, other) = (one_time_code().unwrap(), one_time_code().unwrap());
        assert_ne!(one, other);
        assert_eq!(one.len(), 23);
        assert_eq!(code_hash(&one), code_hash(&one.to_uppercase().replace('-', " ")));
        assert_ne!(code_hash(&one), code_hash(&other));
    }

    #[test]
    fn refresh_tokens_are_long_and_differ() {
        let (one, other) = (refresh_token().unwrap(), refresh_token().unwrap());
        assert_eq!(one.len(), 64);
        assert_ne!(one, other);
    }

    #[test]
    fn hex_goes_both_ways() {
        assert_eq!(hex(&[0, 15, 255]), "000fff");
        assert_eq!(unhex("000FFF"), Some(vec![0, 15, 255]));
        assert_eq!(unhex("00f"), None);
        assert_eq!(unhex("zz"), None);
        assert_eq!(unhex("éé"), None);
    }
}
