//! Hashes the engine's sources and tables, so that findings say which engine made them.

use sha2::{Digest, Sha256};
use std::path::{Path, PathBuf};

fn main() -> std::io::Result<()> {
    println!("cargo::rerun-if-changed=src");
    println!("cargo::rerun-if-changed=Cargo.toml");
    let mut files = Vec::new();
    collect(Path::new("src"), &mut files)?;
    files.sort();
    let mut hash = Sha256::new();
    for file in files {
        hash.update(file.to_string_lossy().replace('\\', "/").as_bytes());
        hash.update(std::fs::read(&file)?);
    }
    let digest: String = hash.finalize().iter().take(16).map(|byte| format!("{byte:02x}")).collect();
    println!("cargo::rustc-env=ENGINE_FINGERPRINT={digest}");
    Ok(())
}

fn collect(folder: &Path, files: &mut Vec<PathBuf>) -> std::io::Result<()> {
    for entry in std::fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            collect(&path, files)?;
        } else {
            files.push(path);
        }
    }
    Ok(())
}
