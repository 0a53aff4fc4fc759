//! Compiles `battenboard/v1/*.proto` without a system protoc and keeps the descriptor set with its comments.

use prost::Message as _;
use std::{env, error::Error, fs, path::PathBuf};

fn main() -> Result<(), Box<dyn Error>> {
    // The compiler prints no `rerun-if-changed` of its own; without this line an edited contract would not be rebuilt.
    println!("cargo:rerun-if-changed=battenboard");
    println!("cargo:rerun-if-changed=build.rs");

    let mut sources: Vec<PathBuf> = Vec::new();
    for entry in fs::read_dir("battenboard/v1")? {
        let path = entry?.path();
        if path.extension().is_some_and(|extension| extension == "proto") {
            sources.push(path);
        }
    }
    // The order of a folder's entries differs between file systems; the descriptor set must not.
    sources.sort();

    let descriptors = protox::compile(&sources, ["."])?;
    let out = PathBuf::from(env::var("OUT_DIR")?).join("battenboard.v1.binpb");
    fs::write(out, descriptors.encode_to_vec())?;

    // No `connect` of its own: server and command choose the transport and its limits themselves.
    tonic_prost_build::configure().build_transport(false).compile_fds(descriptors)?;
    Ok(())
}
