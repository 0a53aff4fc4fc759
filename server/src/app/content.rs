//! The stored body of a design: its canonical text, from which its content id is made.
//!
//! Bodies are never rewritten. When the canonical text changes its form, the format number is raised and a pure function
//! from the old form is added to [`read`]; the old one stays for ever.

use super::error::{AppError, AppResult};
use battenboard_engine::design::{Design, Vehicle, canonical};
use sha2::{Digest, Sha256};

/// Format that is written.
pub const FORMAT: i64 = 1;

/// A design as it is stored.
pub struct Content {
    /// Canonical text.
    pub body: Vec<u8>,
    /// SHA-256 of the body: what the engine calls its content id.
    pub id: Vec<u8>,
}

/// The stored form of a design.
pub fn write(design: &Design) -> Content {
    let body = canonical::canonical_text(design).into_bytes();
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
    canonical::from_canonical(text).map_err(|error| unknown(error.to_string()))
}

/// The stored form of a vehicle's figures, without its name and the number of a survey.
pub fn write_figures(vehicle: &Vehicle) -> Content {
    let body = canonical::figures_text(vehicle).into_bytes();
    let id = Sha256::digest(&body).to_vec();
    Content { body, id }
}

/// The figures of such a body.
///
/// # Errors
/// [`AppError::Internal`] for a body that this server does not know.
pub fn read_figures(body: &[u8]) -> AppResult<Vehicle> {
    let unknown = |cause: String| AppError::internal(format!("stored figures of a vehicle: {cause}"));
    let text = std::str::from_utf8(body).map_err(|error| unknown(error.to_string()))?;
    canonical::from_figures(text).map_err(|error| unknown(error.to_string()))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
    use super::*;
    use crate::auth::codes::hex;

    #[test]
    fn a_body_comes_back_and_its_id_is_the_engine_s() {
        let design = Design { name: "curlew".into(), title: "Berths é".into(), ..Design::default() };
        let content = write(&design);
        assert_eq!(hex(&content.id), canonical::content_id(&design));
        assert_eq!(read(FORMAT, &content.body).unwrap(), design);
        assert!(read(FORMAT + 1, &content.body).is_err());
        assert!(read(FORMAT, b"body 1\n{").is_err());
    }
}
