//! Any bytes as a frame on the wire.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| battenboard_fuzz::wire(bytes));
