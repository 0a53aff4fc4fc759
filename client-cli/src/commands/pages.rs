//! `pages`: manual pages of the command and of each verb, for `man`.

use crate::args::PagesArgs;
use crate::error::ClientError;
use crate::exit::Exit;
use crate::file;
use crate::io::Io;
use clap_mangen::Man;
use std::path::PathBuf;

pub fn run(args: &PagesArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let folder = io.current_dir.join(&args.folder);
    std::fs::create_dir_all(&folder).map_err(|source| fault(folder.clone(), source))?;
    let pages = pages()?;
    for (name, text) in &pages {
        file::write_whole(&folder.join(name), text)?;
    }
    let mut sheet = io.sheet();
    sheet.paragraph(&format!("Wrote {} manual pages into {}.", pages.len(), file::shown(io, &folder)));
    if let Some((first, _)) = pages.first() {
        sheet.hanging("Next: ", &format!("man {}", file::shown(io, &folder.join(first))));
    }
    io.show(&sheet)?;
    Ok(Exit::Holds)
}

/// File names and texts: the command's own page first, then each verb's, in the order of the help.
///
/// # Errors
/// [`ClientError::File`] where a page can't be put into words; into memory that does not happen.
pub fn pages() -> Result<Vec<(String, String)>, ClientError> {
    let mut command = crate::command();
    // Fills in what each verb is called in full.
    command.build();
    let mut pages = Vec::new();
    gather(&command, &mut pages)?;
    Ok(pages)
}

fn gather(command: &clap::Command, pages: &mut Vec<(String, String)>) -> Result<(), ClientError> {
    let page = Man::new(command.clone()).manual("Battenboard").source(concat!("batten ", env!("CARGO_PKG_VERSION")));
    let name = page.get_filename();
    let mut text = Vec::new();
    page.render(&mut text).map_err(|source| fault(PathBuf::from(&name), source))?;
    pages.push((name, String::from_utf8_lossy(&text).into_owned()));
    command.get_subcommands().filter(|verb| !verb.is_hide_set()).try_for_each(|verb| gather(verb, pages))
}

fn fault(path: PathBuf, source: std::io::Error) -> ClientError {
    ClientError::File { path, doing: "written", source }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]
    use super::*;

    #[test]
    fn there_is_a_page_for_the_command_and_for_each_verb() {
        let pages = pages().unwrap();
        let names: Vec<&str> = pages.iter().map(|(name, _)| name.as_str()).collect();
        assert_eq!(names[0], "batten.1");
        for verb in crate::command().get_subcommands() {
            let name = format!("batten-{}.1", verb.get_name());
            assert!(names.contains(&name.as_str()), "{name} is missing: {names:?}");
        }
        assert!(names.contains(&"batten-account-password.1"), "{names:?}");
        let mut once = names.clone();
        once.sort_unstable();
        once.dedup();
        assert_eq!(once.len(), names.len(), "two pages of one name");
    }

    #[test]
    fn each_page_has_its_head_names_its_verb_and_says_what_it_does() {
        for (name, text) in pages().unwrap() {
            let title = name.strip_suffix(".1").unwrap();
            assert!(text.lines().any(|line| line.starts_with(&format!(".TH {title} 1 "))), "{name}: {text}");
            for head in [".SH NAME", ".SH SYNOPSIS", ".SH DESCRIPTION"] {
                assert!(text.contains(head), "{name} has no {head}");
            }
            // NAME is `batten-check \\- what it does`, hyphens written as such.
            let said = text.lines().skip_while(|line| *line != ".SH NAME").nth(1).unwrap_or_default();
            let (who, what) = said.split_once(" \\- ").unwrap_or_default();
            assert_eq!(who.replace("\\-", "-"), title, "{name}: {said}");
            assert!(what.len() > 10, "{name} does not say what it does: {said}");
        }
    }

    #[test]
    fn pages_are_written_into_a_new_folder_and_over_older_ones() {
        let folder = tempfile::tempdir().unwrap();
        for _ in 0..2 {
            let screen = crate::run_captured(&["pages", "man/man1"], folder.path(), folder.path(), "");
            assert_eq!((screen.exit, screen.stderr.as_str()), (Exit::Holds, ""), "{}", screen.stdout);
            assert!(screen.stdout.contains("man man/man1/batten.1"), "{}", screen.stdout);
        }
        let kept = std::fs::read_dir(folder.path().join("man/man1")).unwrap().count();
        assert_eq!(kept, pages().unwrap().len());
        std::fs::write(folder.path().join("taken"), "a file").unwrap();
        let screen = crate::run_captured(&["pages", "taken"], folder.path(), folder.path(), "");
        assert_eq!(screen.exit, Exit::Usage, "{}", screen.stdout);
        assert!(screen.stderr.contains("can't be written"), "{}", screen.stderr);
    }
}
