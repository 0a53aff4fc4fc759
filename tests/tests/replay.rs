//! The fuzz targets' kept inputs once more, in the ordinary suite: what was found once stays mended, without the fuzzer.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    missing_docs,
    dead_code,
    reason = "a test ends where it finds a fault; making a text of a design is for the fuzzer's seeds"
)]

#[path = "../fuzz/src/lib.rs"]
mod fuzz;

use std::fs;
use std::panic::catch_unwind;
use std::path::{Path, PathBuf};

/// Runs a target on every file of its folder; names all inputs on which it fails.
fn replay(folder: &str, target: fn(&[u8])) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("fuzz").join(folder);
    let mut files: Vec<PathBuf> = fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    assert!(files.len() >= 10, "{} has {} inputs", folder.display(), files.len());
    let fails = |file: &PathBuf| {
        let bytes = fs::read(file).unwrap();
        catch_unwind(|| target(&bytes)).is_err()
    };
    let failed: Vec<String> = files.iter().filter(|file| fails(file)).map(|file| file.display().to_string()).collect();
    assert!(failed.is_empty(), "does not hold of:\n{}", failed.join("\n"));
}

#[test]
fn design_files_of_any_bytes() {
    replay("corpus-reader", fuzz::reader);
}

#[test]
fn designs_of_any_choices() {
    replay("corpus-structured", fuzz::structured);
}

#[test]
fn frames_of_any_bytes_on_the_wire() {
    replay("corpus-wire", fuzz::wire);
}
