//! What must hold of any input, whoever sent it. The fuzz targets and the test that replays their kept inputs
//! (`tests/tests/replay.rs`) call the same three functions; each panics where something does not hold.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a fuzz target says by a panic what does not hold"
)]

mod chance;
mod findings;
mod make;
mod trips;

use battenboard_designfile::{MISTAKE_LIMIT, Mistake, read_bytes, read_frame};
use battenboard_engine::design::{Design, Frame};
use battenboard_proto::{convert, v1};
use prost::Message;

/// Any bytes as a design file: mistakes with places, or a design that is written and edited without loss, and findings
/// of it.
pub fn reader(bytes: &[u8]) {
    let read = match read_bytes(bytes) {
        Ok(read) => read,
        Err(mistakes) => return mistakes_have_places(bytes, &mistakes),
    };
    let text = std::str::from_utf8(bytes).expect("what was read is text");
    let place = read.places.find("members[0].stock");
    assert!(text.get(place.span.clone()).is_some(), "{place:?}");
    trips::text(&read.design);
    trips::canonical(&read.design);
    trips::edited(text, &read.design);
    match read_frame(text) {
        Ok((_, frame)) => findings::of_frame(&frame),
        Err(mistakes) => mistakes_have_places(bytes, &mistakes),
    }
}

/// Any bytes as the choices of which a design is made: most of them frames that can be computed.
pub fn structured(bytes: &[u8]) {
    of_design(&make::design(bytes));
}

/// The design that [`structured`] makes of the bytes, as a file.
pub fn structured_text(bytes: &[u8]) -> String {
    battenboard_designfile::write(&make::design(bytes))
}

/// Any bytes as a frame on the wire.
pub fn wire(bytes: &[u8]) {
    let Ok(frame) = v1::Frame::decode(bytes) else { return };
    let Ok(design) = convert::frame_from_wire(frame) else { return };
    trips::wire(&design);
    of_design(&design);
}

/// A design that need not be sound: violations, or a frame whose design is written without loss, and findings of it.
fn of_design(design: &Design) {
    match Frame::new(design) {
        Ok(frame) => {
            trips::text(design);
            trips::canonical(design);
            findings::of_frame(&frame);
        }
        Err(violations) => {
            assert!(!violations.is_empty() && violations.len() < 1_000, "{} violations", violations.len());
            assert!(violations.iter().all(|violation| !violation.message.is_empty()));
        }
    }
}

fn mistakes_have_places(bytes: &[u8], mistakes: &[Mistake]) {
    assert!(!mistakes.is_empty() && mistakes.len() <= MISTAKE_LIMIT + 1);
    for mistake in mistakes {
        assert!(mistake.line >= 1 && mistake.column >= 1 && !mistake.message.is_empty(), "{mistake:?}");
        assert!(mistake.message.len() < 1_000, "{mistake:?}");
        match std::str::from_utf8(bytes) {
            Ok(text) => assert!(text.get(mistake.span.clone()).is_some(), "{mistake:?}"),
            Err(_) => assert!(bytes.get(mistake.span.clone()).is_some(), "{mistake:?}"),
        }
    }
}
