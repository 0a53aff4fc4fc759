//! Any bytes as a design file.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| battenboard_fuzz::reader(bytes));
