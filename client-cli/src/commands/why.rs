//! `why`: explains one member, deck, joint or anchor.

use super::{Common, check, withheld};
use crate::args::TagArgs;
use crate::error::ClientError;
use crate::exit::Exit;
use crate::file;
use crate::io::Io;
use crate::output::{places, whole, why_screen};
use battenboard_engine::Ask;
use battenboard_engine::design::Design;
use battenboard_engine::findings::{Findings, Verdict};
use battenboard_engine::nearest::nearest;

/// How the frame as a whole may be called.
pub const WHOLE: [&str; 2] = [whole::TAG, "all"];

pub fn run(common: &Common, args: &TagArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let loaded = file::load(io, common.file())?;
    if let Some(exit) = withheld::instead(common, io, &loaded.path)? {
        return Ok(exit);
    }
    let known = known_tag(&loaded.design, &args.tag);
    let is_whole = known.is_err() && WHOLE.iter().any(|name| name.eq_ignore_ascii_case(&args.tag));
    let tag = if is_whole { whole::TAG.into() } else { known? };
    let findings = check::findings(&loaded, Ask { results: true, mends: true })?;
    let verdict =
        findings.checks.iter().find(|check| check.tag == tag).map_or(Verdict::NotChecked, |check| check.verdict);
    if common.json {
        let checks: Vec<_> = findings.checks.iter().filter(|check| check.tag == tag).collect();
        let not_checked: Vec<_> = findings.not_checked.iter().filter(|item| item.tag == tag).collect();
        let mut answer =
            serde_json::json!({ "tag": tag, "verdict": verdict, "checks": checks, "not_checked": not_checked });
        of_this_one(&mut answer, &findings, &tag)?;
        io.json(&answer)?;
    } else {
        let sheet = why_screen::why(&loaded.design, &findings, &tag, io.width);
        io.show(&sheet)?;
    }
    Ok(verdict.into())
}

/// What stands outside the checks: stability of the whole, room over a deck, what an anchor must hold down.
fn of_this_one(answer: &mut serde_json::Value, findings: &Findings, tag: &str) -> Result<(), ClientError> {
    let whole = tag == whole::TAG;
    let rooms: Vec<_> = findings.headroom.iter().filter(|item| whole || item.deck == tag).collect();
    let held: Vec<_> = findings.hold_downs.iter().filter(|item| whole || item.anchor == tag).collect();
    let shape = |cause: serde_json::Error| ClientError::Shape { cause: cause.to_string() };
    if whole {
        answer["stability"] = serde_json::to_value(&findings.stability).map_err(shape)?;
    }
    if !rooms.is_empty() {
        answer["headroom"] = serde_json::to_value(rooms).map_err(shape)?;
    }
    if !held.is_empty() {
        answer["hold_downs"] = serde_json::to_value(held).map_err(shape)?;
    }
    Ok(())
}

/// The tag as the design writes it; letters' case is forgiven where that leaves one.
pub fn known_tag(design: &Design, typed: &str) -> Result<String, ClientError> {
    let tags = places::all_tags(design);
    if tags.iter().any(|tag| tag == typed) {
        return Ok(typed.to_owned());
    }
    let mut alike = tags.iter().filter(|tag| tag.eq_ignore_ascii_case(typed));
    if let (Some(only), None) = (alike.next(), alike.next()) {
        return Ok(only.clone());
    }
    let nearest = nearest(typed, tags.iter().map(String::as_str)).map(ToOwned::to_owned);
    Err(ClientError::UnknownTag { tag: typed.to_owned(), nearest })
}
