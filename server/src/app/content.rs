//! The stored body of a design: its canonical text, from which its content id is made.
//!
//! Bodies are never rewritten. When the canonical text changes its form, the format number is raised and a pure function
//! from the old form is added to [`read`]; the old one stays for ever.

use super::error::{AppError, AppResult};
use battenboard_engine::design::Design;
use sha2::{Digest, Sha256};

/// Format that is written.
pub const FORMAT: i64 = 1;
/// First line of a body of format 1.
const PREFIX: &str = "body 1\n";

/// A design as it is stored.
pub struct Content {
    /// Canonical text.
    pub body: Vec<u8>,
    /// SHA-256 of the body.
    pub id: Vec<u8>,
}

/// The stored form of a design.
pub fn write(design: &Design) -> Content {
    let text = serde_json::to_value(design).map(|value| value.to_string()).unwrap_or_default();
    let body = format!("{PREFIX}{text}").into_bytes();
    let id = Sha256::digest(&body).to_vec();
    Content { body, id }
}

/// The design of a stored body.
///
/// # Errors
/// [`AppError::Internal`] for a body that this server does not know.
pub fn read(format: i64, body: &[u8]) -> AppResult<Design> {
    let unknown = |cause: String| AppError::internal(format!("stored body: {cause}"));
    if format != FORMAT {
        return Err(unknown(format!("format {format} is not known to this release")));
    }
    let text = std::str::from_utf8(body).map_err(|error| unknown(error.to_string()))?;
    let text = text.strip_prefix(PREFIX).ok_or_else(|| unknown("it does not begin with its format".into()))?;
    serde_json::from_str(text).map_err(|error| unknown(error.to_string()))
}
