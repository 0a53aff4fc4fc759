//! Any bytes as the choices of which a design is made.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| battenboard_fuzz::structured(bytes));
