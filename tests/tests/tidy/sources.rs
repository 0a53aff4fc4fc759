//! The repository's files, read once for the rules.

use std::fs;
use std::path::{Path, PathBuf};

/// One text file of the repository.
pub struct Source {
    /// Path from the top, with forward slashes.
    pub path: String,
    /// Its text.
    pub text: String,
}

impl Source {
    /// Lines of code with their numbers: without comments and without the text of trailing `//` remarks.
    pub fn code_lines(&self) -> impl Iterator<Item = (usize, &str)> {
        self.text.lines().enumerate().filter_map(|(index, line)| {
            let code = line.split("//").next().unwrap_or_default();
            (!code.trim().is_empty()).then_some((index + 1, code))
        })
    }
}

/// The top folder of the workspace.
pub fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("this crate lies within the workspace").to_path_buf()
}

/// All text files under one folder of the repository (`""`: the whole), builds left out, in the order of their paths.
pub fn files_under(folder: &str) -> Vec<Source> {
    let top = top();
    let mut paths = Vec::new();
    collect(&top.join(folder), &mut paths);
    paths.sort();
    paths
        .into_iter()
        .filter_map(|path| {
            let text = fs::read_to_string(&path).ok()?;
            let path = path.strip_prefix(&top).ok()?.to_string_lossy().replace('\\', "/");
            Some(Source { path, text })
        })
        .collect()
}

/// Rust files under one folder.
pub fn rust_under(folder: &str) -> Vec<Source> {
    let found: Vec<Source> = files_under(folder).into_iter().filter(|file| file.path.ends_with(".rs")).collect();
    assert!(!found.is_empty(), "no Rust file under `{folder}`: the rule would hold of nothing");
    found
}

fn collect(folder: &Path, paths: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap_or_else(|error| panic!("{}: {error}", folder.display())) {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        if path.is_dir() {
            if !["target", ".git", "__pycache__"].contains(&name.as_str()) {
                collect(&path, paths);
            }
        } else {
            paths.push(path);
        }
    }
}

/// Fails with all offences at once.
#[track_caller]
pub fn none(rule: &str, offences: Vec<String>) {
    assert!(offences.is_empty(), "{rule}:\n{}", offences.join("\n"));
}
