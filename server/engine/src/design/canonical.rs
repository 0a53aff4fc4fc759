//! The one text of a design, and its hash: body 1.
//!
//! Two designs are the same revision's content when their canonical texts are the same bytes. The text is the line
//! `body 1`, then JSON without blanks: keys in byte order, fields that are `None` left out, numbers the shortest that
//! read back to the same value, -0 as 0. It is never a protobuf encoding, and never changes: another form is another
//! body, and this one is read for ever (`tests/fixtures`).

use super::{Design, Vehicle};
use serde_json::Value;
use sha2::{Digest, Sha256};
use std::fmt::Write;

/// The first line of the text.
const PREFIX: &str = "body 1\n";

/// Longest text that is read, bytes: a design of the largest size has about a third of it.
const LONGEST: usize = 32 * 1024 * 1024;

/// Whole numbers under this are written without an exponent.
const PLAIN: f64 = 1e15;

/// Why a text is no canonical text.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum CanonicalError {
    /// It does not begin with a body that is known.
    #[error("the stored design begins with `{found}`, not with `body 1`")]
    UnknownBody {
        /// How it begins.
        found: String,
    },
    /// Longer than any design.
    #[error("the stored design has {length} bytes, at most {limit} are read")]
    TooLong {
        /// Its length.
        length: usize,
        /// The limit.
        limit: usize,
    },
    /// Not the JSON of a design.
    #[error("the stored design can't be read: {reason}")]
    Unreadable {
        /// What the reader of JSON says.
        reason: String,
    },
    /// A design, but not in its one form: unknown or doubled keys, blanks, other numbers.
    #[error("the stored design is not in its one form, from byte {at} on")]
    NotCanonical {
        /// First byte that differs.
        at: usize,
    },
}

/// The canonical text of a design.
///
/// Every number is to be finite, as those of a [`Frame`](super::Frame) are; one that is not would be left out.
pub fn canonical_text(design: &Design) -> String {
    let mut text = PREFIX.to_owned();
    // A design is plain data with text keys: it has no part that JSON can't hold.
    let value = serde_json::to_value(design).unwrap_or(Value::Null);
    write_value(&mut text, &value);
    text
}

/// The first line of the text of a vehicle's figures.
const FIGURES: &str = "figures 1\n";

/// The one text of a vehicle's figures, without its name and the number of a survey: equal figures, equal texts.
pub fn figures_text(vehicle: &Vehicle) -> String {
    let figures = Vehicle { name: String::new(), survey: 0, ..vehicle.clone() };
    format!("{FIGURES}{}", canonical_json(&figures))
}

/// The figures of such a text, without a name and a number.
///
/// # Errors
/// [`CanonicalError`] for anything but the exact bytes that [`figures_text`] gives.
pub fn from_figures(text: &str) -> Result<Vehicle, CanonicalError> {
    let Some(body) = text.strip_prefix(FIGURES) else {
        let found = text.lines().next().unwrap_or("").chars().take(20).collect();
        return Err(CanonicalError::UnknownBody { found });
    };
    let vehicle: Vehicle =
        serde_json::from_str(body).map_err(|error| CanonicalError::Unreadable { reason: error.to_string() })?;
    let again = figures_text(&vehicle);
    if again == text {
        return Ok(vehicle);
    }
    let same = again.bytes().zip(text.bytes()).take_while(|(a, b)| a == b).count();
    Err(CanonicalError::NotCanonical { at: same })
}

/// Plain data as JSON in the same form: one text for one value.
pub fn canonical_json<T: serde::Serialize>(value: &T) -> String {
    let mut text = String::new();
    let value = serde_json::to_value(value).unwrap_or(Value::Null);
    write_value(&mut text, &value);
    text
}

/// Lower-case hex sha256 of the canonical text.
pub fn content_id(design: &Design) -> String {
    hex_digest(&canonical_text(design))
}

/// Lower-case hex sha256 of a text.
pub fn hex_digest(text: &str) -> String {
    let mut id = String::with_capacity(64);
    for byte in Sha256::digest(text.as_bytes()) {
        // Writing to a text can't fail.
        let _ = write!(id, "{byte:02x}");
    }
    id
}

/// The design of a canonical text.
///
/// # Errors
/// [`CanonicalError`] for anything but the exact bytes that [`canonical_text`] gives for the design.
pub fn from_canonical(text: &str) -> Result<Design, CanonicalError> {
    if text.len() > LONGEST {
        return Err(CanonicalError::TooLong { length: text.len(), limit: LONGEST });
    }
    let Some(body) = text.strip_prefix(PREFIX) else {
        let found = text.lines().next().unwrap_or("").chars().take(20).collect();
        return Err(CanonicalError::UnknownBody { found });
    };
    let design: Design =
        serde_json::from_str(body).map_err(|error| CanonicalError::Unreadable { reason: error.to_string() })?;
    let again = canonical_text(&design);
    if again == text {
        return Ok(design);
    }
    let same = again.bytes().zip(text.bytes()).take_while(|(a, b)| a == b).count();
    Err(CanonicalError::NotCanonical { at: same })
}

fn write_value(text: &mut String, value: &Value) {
    match value {
        Value::Null => text.push_str("null"),
        Value::Bool(flag) => text.push_str(if *flag { "true" } else { "false" }),
        Value::Number(number) => write_number(text, number),
        Value::String(string) => write_string(text, string),
        Value::Array(items) => {
            text.push('[');
            for (index, item) in items.iter().enumerate() {
                if index > 0 {
                    text.push(',');
                }
                write_value(text, item);
            }
            text.push(']');
        }
        Value::Object(map) => {
            // Sorted here: whether the map is depends on a feature that any crate of the build may switch on.
            let mut entries: Vec<_> = map.iter().filter(|(_, value)| !value.is_null()).collect();
            entries.sort_unstable_by_key(|(key, _)| key.as_str());
            text.push('{');
            for (index, (key, value)) in entries.into_iter().enumerate() {
                if index > 0 {
                    text.push(',');
                }
                write_string(text, key);
                text.push(':');
                write_value(text, value);
            }
            text.push('}');
        }
    }
}

/// Shortest digits that read back: plain from 1e-6 to 1e15, else with an exponent (`1e300`, `2.5e-7`).
fn write_number(text: &mut String, number: &serde_json::Number) {
    let value = number.as_f64().unwrap_or(0.0);
    let size = value.abs();
    let _ = if size == 0.0 {
        write!(text, "0")
    } else if (1e-6..PLAIN).contains(&size) {
        write!(text, "{value}")
    } else {
        write!(text, "{value:e}")
    };
}

fn write_string(text: &mut String, string: &str) {
    text.push('"');
    for c in string.chars() {
        match c {
            '"' => text.push_str("\\\""),
            '\\' => text.push_str("\\\\"),
            c if u32::from(c) < 0x20 => {
                let _ = write!(text, "\\u{:04x}", u32::from(c));
            }
            c => text.push(c),
        }
    }
    text.push('"');
}
