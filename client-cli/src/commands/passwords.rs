//! Where passwords come from: the terminal, unseen, or a file. Never an argument.

use crate::error::ClientError;
use crate::io::Io;
use std::io::Read;
use std::path::Path;

/// Longest file of passwords that is read.
const PASSWORD_FILE_LIMIT: u64 = 4096;

/// A password that is being chosen: from the file, or typed twice.
pub fn new_password(io: &mut Io<'_>, file: Option<&Path>) -> Result<String, ClientError> {
    if file.is_some() { one_password(io, file, "") } else { typed_twice(io) }
}

/// A password that is being chosen, typed twice.
pub fn typed_twice(io: &mut Io<'_>) -> Result<String, ClientError> {
    let first = one_password(io, None, "New password (at least 12 letters):")?;
    if one_password(io, None, "The same again:")? == first {
        Ok(first)
    } else {
        Err(ClientError::usage("the two passwords are not the same", "try once more; nothing was sent"))
    }
}

/// One password, or a code: from the file's first line, or typed unseen.
pub fn one_password(io: &mut Io<'_>, file: Option<&Path>, question: &str) -> Result<String, ClientError> {
    if file.is_some() {
        let mut lines = password_lines(io, file)?;
        if lines.is_empty() {
            return Err(ClientError::usage("there is no password on the first line", "one line, the password alone"));
        }
        return Ok(lines.swap_remove(0));
    }
    if !io.asks {
        return Err(ClientError::usage(
            "there is nobody to ask for a password",
            "--password-file FILE, or --password-file - for stdin; never as an argument",
        ));
    }
    rpassword::prompt_password(format!("{question} "))
        .map_err(|source| ClientError::Folder { what: "terminal", source })
}

/// The lines of a file of passwords that have something on them.
pub fn password_lines(io: &mut Io<'_>, file: Option<&Path>) -> Result<Vec<String>, ClientError> {
    let mut text = String::new();
    match file {
        Some(path) if path != Path::new("-") => {
            let path = io.current_dir.join(path);
            let fault = |source| ClientError::File { path: path.clone(), doing: "read", source };
            let opened = std::fs::File::open(&path).map_err(fault)?;
            opened.take(PASSWORD_FILE_LIMIT).read_to_string(&mut text).map_err(fault)?;
        }
        _ => {
            let fault = |source| ClientError::Folder { what: "input", source };
            (&mut io.stdin).take(PASSWORD_FILE_LIMIT).read_to_string(&mut text).map_err(fault)?;
        }
    }
    Ok(text.lines().map(ToOwned::to_owned).filter(|line| !line.is_empty()).collect())
}
