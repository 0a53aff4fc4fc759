//! `start`: at most six questions, then a commented file, its drawing and its first check.

mod after;

use super::{Common, check, withheld};
use crate::args::{StartArgs, What};
use crate::error::ClientError;
use crate::exit::Exit;
use crate::file;
use crate::io::Io;
use crate::output::{check_screen, drawing};
use crate::sidecar::{Sidecar, Source};
use battenboard_designfile::unit::Kind;
use battenboard_designfile::{StartAnswers, StartKind, quantity, size, template};
use battenboard_engine::Ask;

/// How often a question is put again after an answer that can't be used.
const TRIES: usize = 3;

pub fn run(common: &Common, args: StartArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let path = common.file().map_or_else(|| io.current_dir.join(file::USUAL_NAME), |file| io.current_dir.join(file));
    let shown = file::shown(io, &path);
    if path.exists() && !args.over {
        return Err(ClientError::usage(
            format!("`{shown}` is there already"),
            "batten check judges it; --over writes over it, --file NAME starts another",
        ));
    }
    let sidecar = Sidecar::of(&path);
    let (text, source) = if args.after.after.is_some() {
        let name = args.name.as_deref().unwrap_or_default();
        check_name(name)?;
        let fetched = after::fetch(common, args.after, name, io)?;
        sidecar.keep_withheld(fetched.withheld)?;
        (fetched.text, Some(fetched.source))
    } else {
        (template(&answers(args, io)?), None)
    };
    file::write_whole(&path, &text)?;
    sidecar.keep_drawn_after(source.as_ref())?;
    if let Some(source) = &source {
        let Source { group, design, letter, .. } = source;
        io.note(&format!("Wrote {shown}, drawn after {design} {letter} ({group}); the first batten submit tells it."));
        if let Some(exit) = withheld::instead(common, io, &path)? {
            return Ok(exit);
        }
    }
    let loaded = file::load_path(io, path)?;
    let findings = check::findings(&loaded, Ask { results: common.json, mends: true })?;
    if common.json {
        io.json(&serde_json::json!({ "file": loaded.shown, "drawn_after": source, "findings": findings }))?;
    } else {
        if source.is_none() {
            io.note(&format!("Wrote {shown}: every guess in it is marked; measure, and write what you find."));
        }
        let mut sheet = io.sheet();
        sheet.append(0, &drawing::drawing(&loaded.design, io.width));
        sheet.blank();
        sheet.append(0, &check_screen::first_screen(&loaded.design, &findings, io.width));
        io.show(&sheet)?;
    }
    Ok(findings.verdict.into())
}

fn answers(args: StartArgs, io: &mut Io<'_>) -> Result<StartAnswers, ClientError> {
    let StartArgs { what, length, width, height, timber, sleepers, name, yes, after: _, over: _ } = args;
    let ask = !yes;
    let mut asker = Asker { io, ask };
    let kind = match what {
        Some(what) => kind_of(what),
        None => asker.question("What is it: platform, settle or mezzanine?", "platform", kind_from)?,
    };
    let usual = Usual::of(kind);
    let length_mm = asker.given_or("How long, along the vehicle?", length, usual.length, length_from)?;
    let width_mm = asker.given_or("How wide, across the vehicle?", width, usual.width, length_from)?;
    let bay_height_mm = asker.given_or("How high must the bay below be?", height, usual.height, length_from)?;
    let timber_mm = asker.given_or("Which timber is at hand (width x depth)?", timber, usual.timber, timber_from)?;
    let sleepers = match sleepers {
        Some(count) => {
            sleepers_from(&count.to_string()).map_err(|(message, hint)| ClientError::usage(message, hint))?
        }
        None => asker.question("How many sleep on it?", usual.sleepers, sleepers_from)?,
    };
    if width_mm <= 2.0 * timber_mm.0.max(timber_mm.1) || length_mm <= 2.0 * timber_mm.0.max(timber_mm.1) {
        return Err(ClientError::usage(
            "the frame is smaller than two of its timbers side by side",
            "length and width are those of the finished berth: 2 m by 1.3 m, for example",
        ));
    }
    let name = name.unwrap_or_else(|| usual.name.to_owned());
    check_name(&name)?;
    Ok(StartAnswers {
        name,
        title: usual.title.to_owned(),
        kind,
        length_mm,
        width_mm,
        bay_height_mm,
        timber_mm,
        sleepers,
        material: "C16".to_owned(),
    })
}

/// What is usual for each kind of frame (common practice, no source).
struct Usual {
    name: &'static str,
    title: &'static str,
    length: &'static str,
    width: &'static str,
    height: &'static str,
    timber: &'static str,
    sleepers: &'static str,
}

impl Usual {
    fn of(kind: StartKind) -> Self {
        match kind {
            StartKind::Platform => Self {
                name: "berth-platform",
                title: "A berth platform",
                length: "2 m",
                width: "1.2 m",
                height: "45 cm",
                timber: "45x70",
                sleepers: "2",
            },
            StartKind::Settle => Self {
                name: "settle",
                title: "A settle along the wall",
                length: "1.9 m",
                width: "65 cm",
                height: "35 cm",
                timber: "45x70",
                sleepers: "1",
            },
            StartKind::Mezzanine => Self {
                name: "mezzanine",
                title: "A sleeping deck on posts",
                length: "2 m",
                width: "1.4 m",
                height: "1.1 m",
                timber: "45x95",
                sleepers: "2",
            },
        }
    }
}

fn kind_of(what: What) -> StartKind {
    match what {
        What::Platform => StartKind::Platform,
        What::Settle => StartKind::Settle,
        What::Mezzanine => StartKind::Mezzanine,
    }
}

/// Why an answer can't be used, and what would do.
type Doubt = (String, String);

fn kind_from(text: &str) -> Result<StartKind, Doubt> {
    let wanted = text.trim().to_lowercase();
    let found = [
        ("platform", StartKind::Platform),
        ("settle", StartKind::Settle),
        ("bench", StartKind::Settle),
        ("mezzanine", StartKind::Mezzanine),
    ]
    .into_iter()
    .find(|(word, _)| !wanted.is_empty() && word.starts_with(&wanted));
    let doubt = || (format!("`{text}` is none of them"), "platform, settle or mezzanine".to_owned());
    found.map(|(_, kind)| kind).ok_or_else(doubt)
}

fn length_from(text: &str) -> Result<f64, Doubt> {
    let usual = "a length such as 1.8 m, 180 cm or 1800";
    let mm = quantity(text, Kind::Length)
        .map_err(|fault| (fault.to_string(), fault.mend().unwrap_or_else(|| usual.to_owned())))?;
    // A van is longer than a hand and shorter than a lorry.
    if (50.0..=12_000.0).contains(&mm) {
        Ok(mm)
    } else {
        let meant = if mm > 0.0 && mm < 50.0 { "; a bare number is mm" } else { "" };
        Err((format!("`{text}` can't be right for a van"), format!("between 50 mm and 12 m{meant}")))
    }
}

fn timber_from(text: &str) -> Result<(f64, f64), Doubt> {
    let usual = "a size such as 45x70";
    let (width, depth) =
        size(text).map_err(|fault| (fault.to_string(), fault.mend().unwrap_or_else(|| usual.to_owned())))?;
    if [width, depth].iter().all(|side| (10.0..=400.0).contains(side)) {
        Ok((width, depth))
    } else {
        Err((format!("`{text}` is no timber for a van"), "each side between 10 and 400 mm".to_owned()))
    }
}

fn sleepers_from(text: &str) -> Result<u32, Doubt> {
    let doubt = || (format!("`{text}` is no number of sleepers"), "a number from 1 to 8".to_owned());
    text.trim().parse().ok().filter(|count| (1..=8).contains(count)).ok_or_else(doubt)
}

fn check_name(name: &str) -> Result<(), ClientError> {
    let letters = name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-');
    let first = name.chars().next().is_some_and(|c| c.is_ascii_lowercase());
    if letters && first && name.len() <= 40 {
        return Ok(());
    }
    Err(ClientError::usage(
        format!("`{name}` can't be the name of a design"),
        "small letters, figures and hyphens, a letter first, at most 40",
    ))
}

/// Puts questions, or takes the usual answer for all of them.
struct Asker<'i, 'a> {
    io: &'i mut Io<'a>,
    ask: bool,
}

impl Asker<'_, '_> {
    fn given_or<T>(
        &mut self,
        question: &str,
        given: Option<String>,
        usual: &str,
        read: impl Fn(&str) -> Result<T, Doubt>,
    ) -> Result<T, ClientError> {
        match given {
            Some(text) => read(&text).map_err(|(message, hint)| ClientError::usage(message, hint)),
            None => self.question(question, usual, read),
        }
    }

    fn question<T>(
        &mut self,
        question: &str,
        usual: &str,
        read: impl Fn(&str) -> Result<T, Doubt>,
    ) -> Result<T, ClientError> {
        let of_usual = |usual: &str| read(usual).map_err(|(message, hint)| ClientError::usage(message, hint));
        if !self.ask {
            return of_usual(usual);
        }
        for _ in 0..TRIES {
            match self.io.ask(&format!("{question} [{usual}]"))? {
                None => {
                    let hint = "answer the questions, or take the usual answers: batten start --yes";
                    return Err(ClientError::usage("there is nobody to ask", hint));
                }
                Some(answer) if answer.is_empty() => return of_usual(usual),
                Some(answer) => match read(&answer) {
                    Ok(value) => return Ok(value),
                    Err((message, hint)) => self.io.note(&format!("{message}: {hint}")),
                },
            }
        }
        Err(ClientError::usage(format!("no usable answer to: {question}"), "batten start --help shows the flags"))
    }
}

/// The file that `start --yes` writes, for tests of other verbs.
#[cfg(test)]
pub fn usual_text() -> String {
    let usual = Usual::of(StartKind::Platform);
    template(&StartAnswers {
        name: usual.name.to_owned(),
        title: usual.title.to_owned(),
        kind: StartKind::Platform,
        length_mm: 2000.0,
        width_mm: 1200.0,
        bay_height_mm: 450.0,
        timber_mm: (45.0, 70.0),
        sleepers: 2,
        material: "C16".to_owned(),
    })
}
