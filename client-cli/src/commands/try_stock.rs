//! `try`: another timber for a member, before and after; with `--keep` it goes into the file.

use super::{Common, check, withheld};
use crate::args::TryArgs;
use crate::error::ClientError;
use crate::exit::Exit;
use crate::file::{self, Loaded};
use crate::io::Io;
use crate::output::{before_after, places, words};
use battenboard_designfile::{EditError, set_stock, size};
use battenboard_engine::design::{Design, Frame, Grading, Section, Stock, Violation};
use battenboard_engine::nearest::nearest;
use battenboard_engine::{Ask, check as engine_check};

pub fn run(common: &Common, args: &TryArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let loaded = file::load(io, common.file())?;
    if let Some(exit) = withheld::instead(common, io, &loaded.path)? {
        return Ok(exit);
    }
    let tags = members(&loaded.design, &args.tag)?;
    let from = stock_names(&loaded.design, &tags);
    let new = new_stock(&loaded.design, &tags, &args.stock)?;
    let to = new.as_ref().map_or(args.stock.as_str(), |stock| stock.name.as_str()).to_owned();
    let changed = changed_design(&loaded.design, &tags, &to, new.as_ref());
    let frame = Frame::new(&changed).map_err(|violations| unsound(&loaded.design, &tags, &to, &violations))?;
    let ask = Ask { results: false, mends: false };
    let before = check::findings(&loaded, ask)?;
    let after = engine_check(&frame, ask, &|| false)?;
    // The file is written before anything is said, so that what is said is true.
    if args.keep {
        keep(&loaded, &tags, &to, new.as_ref())?;
    }
    if common.json {
        io.json(&serde_json::json!({
            "members": tags, "from_stock": from, "to_stock": to, "kept": args.keep,
            "before": before, "after": after,
        }))?;
    } else {
        let mut sheet = before_after::tried(&tags, (&from, &to), &before, &after, io.width);
        sheet.blank();
        if args.keep {
            sheet.paragraph(&format!("Written into {}.", loaded.shown));
        } else {
            let target = if args.tag.contains('*') { format!("'{}'", args.tag) } else { args.tag.clone() };
            sheet.hanging(
                "Next: ",
                &format!("batten try {target} {} --keep writes it into {}", args.stock, loaded.shown),
            );
        }
        io.show(&sheet)?;
    }
    Ok(after.verdict.into())
}

/// Members of a tag or of a row (`B*`).
fn members(design: &Design, typed: &str) -> Result<Vec<String>, ClientError> {
    let tags = || design.members.iter().map(|member| member.tag.as_str());
    if let Some(row) = typed.strip_suffix('*') {
        let found: Vec<String> = tags()
            .filter(|tag| tag.strip_prefix(row).is_some_and(|rest| rest.parse::<u32>().is_ok()))
            .map(ToOwned::to_owned)
            .collect();
        return if found.is_empty() { Err(unknown(typed, tags())) } else { Ok(found) };
    }
    let found = tags().find(|tag| *tag == typed).or_else(|| tags().find(|tag| tag.eq_ignore_ascii_case(typed)));
    found.map(|tag| vec![tag.to_owned()]).ok_or_else(|| unknown(typed, tags()))
}

fn unknown<'t>(typed: &str, tags: impl Iterator<Item = &'t str>) -> ClientError {
    ClientError::UnknownTag { tag: typed.to_owned(), nearest: nearest(typed, tags).map(ToOwned::to_owned) }
}

/// Why the frame can't be built so; a single member of a row usually wants the whole row changed with it.
fn unsound(design: &Design, tags: &[String], stock: &str, violations: &[Violation]) -> ClientError {
    let first = violations.first();
    let whole_row = tags.first().filter(|_| tags.len() == 1).and_then(|tag| {
        let row = places::row(tag);
        let alike = design.members.iter().filter(|member| places::row(&member.tag) == row).count();
        (alike > 1).then(|| format!("the whole row: batten try '{row}*' {stock}"))
    });
    ClientError::Usage {
        message: format!("with {stock} the frame would not be sound: {}", first.map_or("", |v| v.message.as_str())),
        hint: whole_row.or_else(|| first.and_then(|violation| violation.mend.clone())),
    }
}

fn stock_names(design: &Design, tags: &[String]) -> String {
    let mut names: Vec<String> =
        design.members.iter().filter(|member| tags.contains(&member.tag)).map(|member| member.stock.clone()).collect();
    names.sort();
    names.dedup();
    words::list(&names, 3)
}

/// A stock that the file does not have yet, made of the same material; `None` where the file has it.
fn new_stock(design: &Design, tags: &[String], typed: &str) -> Result<Option<Stock>, ClientError> {
    if design.stock.iter().any(|stock| stock.name == typed) {
        return Ok(None);
    }
    let Ok((width_mm, depth_mm)) = size(typed) else {
        let nearest = nearest(typed, design.stock.iter().map(|stock| stock.name.as_str()));
        let known: Vec<String> = design.stock.iter().map(|stock| stock.name.clone()).collect();
        return Err(ClientError::Usage {
            message: format!("there is no stock `{typed}` in this design"),
            hint: Some(nearest.map_or_else(
                || format!("the file has {}; or write a size, such as 45x70", words::list(&known, 6)),
                |nearest| format!("did you mean `{nearest}`?"),
            )),
        });
    };
    let name = format!("{width_mm}x{depth_mm}");
    if design.stock.iter().any(|stock| stock.name == name) {
        return Err(ClientError::usage(
            format!("`{typed}` is in this design already"),
            format!("it is named `{name}`"),
        ));
    }
    let present = design.members.iter().find(|member| tags.contains(&member.tag)).map(|member| &member.stock);
    let like = design.stock.iter().find(|stock| Some(&stock.name) == present);
    let Some(like) = like else { return Ok(None) };
    Ok(Some(Stock {
        name,
        section: Section::Rectangle { width_mm, depth_mm },
        material: like.material.clone(),
        grading: Grading::Assumed,
        lengths_mm: Vec::new(),
        price_per_m: None,
        // Who saws the piece that is replaced saws the new one too, for all that is known.
        resawn: like.resawn,
    }))
}

fn changed_design(design: &Design, tags: &[String], stock: &str, new: Option<&Stock>) -> Design {
    let mut changed = design.clone();
    changed.stock.extend(new.cloned());
    for member in changed.members.iter_mut().filter(|member| tags.contains(&member.tag)) {
        stock.clone_into(&mut member.stock);
    }
    changed
}

fn keep(loaded: &Loaded, tags: &[String], stock: &str, new: Option<&Stock>) -> Result<(), ClientError> {
    let text = set_stock(&loaded.text, tags, stock, new).map_err(|cause| {
        let hint = match &cause {
            EditError::RowSplit { row, .. } => Some(format!("change the whole row: batten try '{row}' {stock} --keep")),
            _ => None,
        };
        ClientError::Usage { message: cause.to_string(), hint }
    })?;
    file::write_whole(&loaded.path, &text)
}
