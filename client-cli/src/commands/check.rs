//! `check`: here and now, without account or server.

use super::{Common, withheld};
use crate::args::CheckArgs;
use crate::error::ClientError;
use crate::exit::Exit;
use crate::file::{self, Loaded};
use crate::io::Io;
use crate::output::sheet::Sheet;
use crate::output::{before_after, check_screen, drawing, remarks_screen, table_screen, times, words};
use crate::sidecar::Sidecar;
use battenboard_engine::findings::Findings;
use battenboard_engine::{Ask, check};
use std::path::Path;
use std::time::{Duration, Instant, SystemTime};

/// How often `--stay` looks at the file.
const LOOK_EVERY: Duration = Duration::from_millis(200);

pub fn run(common: &Common, args: &CheckArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    if args.stay {
        return stay(common, args, io, &mut || {
            std::thread::sleep(LOOK_EVERY);
            true
        });
    }
    let loaded = file::load(io, common.file())?;
    if let Some(exit) = withheld::instead(common, io, &loaded.path)? {
        return Ok(exit);
    }
    let findings = findings(&loaded, Ask { results: common.json, mends: true })?;
    if common.json {
        io.json(&findings)?;
    } else {
        let sheet = screen(args, &loaded, &findings, io);
        io.show(&sheet)?;
    }
    Ok(findings.verdict.into())
}

/// Findings of a design file, by the engine in this very program.
pub fn findings(loaded: &Loaded, ask: Ask) -> Result<Findings, ClientError> {
    Ok(check(&loaded.frame, ask, &|| false)?)
}

fn screen(args: &CheckArgs, loaded: &Loaded, findings: &Findings, io: &Io<'_>) -> Sheet {
    let width = io.width;
    let said = said_last(loaded, (io.now)());
    let mut sheet = Sheet::new(width);
    if args.picture {
        sheet.append(0, &drawing::drawing(&loaded.design, width));
        sheet.blank();
    }
    let main = if args.table {
        table_screen::full(&loaded.design, findings, width)
    } else {
        check_screen::first_screen_with(&loaded.design, findings, width, said.as_deref())
    };
    sheet.append(0, &main);
    if let Some(said) = said.filter(|_| args.table) {
        sheet.blank();
        sheet.paragraph(&said);
    }
    sheet
}

/// What the server last said of it and the people there, with its age, without asking. A memory that can't be read is no
/// reason to withhold a check.
fn said_last(loaded: &Loaded, now: jiff::Timestamp) -> Option<String> {
    let sidecar = Sidecar::of(&loaded.path);
    let findings = sidecar.findings().ok().flatten().map(|kept| {
        let verdict = words::verdict_word(kept.findings.verdict);
        format!("The server on revision {}: {verdict} ({}).", kept.letter, times::ago(kept.kept_us, now))
    });
    let remarks = sidecar.remarks().ok().flatten().filter(|kept| !kept.remarks.is_empty()).map(|kept| {
        let count = words::sentence(&remarks_screen::count(&kept.remarks));
        format!("{count} ({}).", times::ago(kept.kept_us, now))
    });
    let said: Vec<String> = findings.into_iter().chain(remarks).collect();
    (!said.is_empty()).then(|| said.join(" "))
}

/// Checks again on each save until `wait` says that nobody waits any more.
fn stay(
    common: &Common,
    args: &CheckArgs,
    io: &mut Io<'_>,
    wait: &mut dyn FnMut() -> bool,
) -> Result<Exit, ClientError> {
    let path = file::find(io, common.file())?;
    let mut seen = None;
    let mut before: Option<Findings> = None;
    let mut exit = Exit::NotChecked;
    loop {
        let stamp = stamp(&path);
        if stamp.is_some() && stamp != seen {
            seen = stamp;
            exit = once(common, args, io, &path, &mut before)?;
        }
        if !wait() {
            return Ok(exit);
        }
    }
}

/// Time and size of the file; `None` in the moment when an editor has moved it away.
fn stamp(path: &Path) -> Option<(SystemTime, u64)> {
    let facts = std::fs::metadata(path).ok()?;
    Some((facts.modified().ok()?, facts.len()))
}

fn once(
    common: &Common,
    args: &CheckArgs,
    io: &mut Io<'_>,
    path: &Path,
    before: &mut Option<Findings>,
) -> Result<Exit, ClientError> {
    if let Some(exit) = withheld::instead(common, io, path)? {
        return Ok(exit);
    }
    let begun = Instant::now();
    let outcome = file::load_path(io, path.to_owned())
        .and_then(|loaded| findings(&loaded, Ask { results: common.json, mends: true }).map(|found| (loaded, found)));
    let took = begun.elapsed().as_millis();
    let clock = (io.now)().to_zoned_datetime(io.zone.clone()).strftime("%H:%M:%S").to_string();
    match outcome {
        Ok((loaded, found)) => {
            if common.json {
                io.json(&found)?;
            } else {
                let mut sheet = io.sheet();
                sheet.line(format!("-- {} at {clock}, {took} ms", loaded.shown));
                sheet.append(0, &screen(args, &loaded, &found, io));
                if let Some(before) = before.as_ref() {
                    sheet.append(0, &before_after::changes(before, &found, io.width));
                }
                io.show(&sheet)?;
            }
            let exit = found.verdict.into();
            *before = Some(found);
            Ok(exit)
        }
        // Half-written files are what one meets while someone is typing: said, and waited for the next save.
        Err(error @ (ClientError::Mistakes(_) | ClientError::File { .. } | ClientError::Check(_))) => {
            let exit = error.exit();
            let mut sheet = io.sheet();
            sheet.line(format!("-- {} at {clock}", file::shown(io, path)));
            if let ClientError::Mistakes(mistakes) = &error {
                sheet.append(0, mistakes);
            } else {
                sheet.paragraph(&error.to_string());
            }
            io.show(&sheet)?;
            Ok(exit)
        }
        Err(error) => Err(error),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]
    use super::*;

    #[test]
    fn stay_checks_again_on_each_save_and_survives_a_half_written_file() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("frame.toml");
        let good = crate::commands::start::usual_text();
        std::fs::write(&path, &good).unwrap();
        let mut texts = vec![good.replace("2000", "2100"), "format = \n".to_owned()];
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let mut io = Io::captured(b"", &mut out, &mut err, folder.path(), folder.path());
        let common = Common { file: None, json: false, server: None };
        let args = CheckArgs { table: false, picture: false, stay: true };
        let exit = stay(&common, &args, &mut io, &mut || {
            let Some(text) = texts.pop() else { return false };
            std::fs::write(&path, text).unwrap();
            true
        });
        drop(io);
        let screen = String::from_utf8(out).unwrap();
        assert_eq!(screen.matches("-- frame.toml at ").count(), 3, "{screen}");
        assert!(screen.contains("`frame.toml` has"), "{screen}");
        assert_ne!(exit.unwrap(), Exit::Usage);
    }
}
