//! `why`: explains one member, deck, joint or anchor.

use super::{Common, check};
use crate::args::TagArgs;
use crate::error::ClientError;
use crate::exit::Exit;
use crate::file;
use crate::io::Io;
use crate::output::{places, why_screen};
use battenboard_engine::Ask;
use battenboard_engine::design::Design;
use battenboard_engine::findings::Verdict;

pub fn run(common: &Common, args: &TagArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let loaded = file::load(io, common.file())?;
    let tag = known_tag(&loaded.design, &args.tag)?;
    let findings = check::findings(&loaded, Ask { results: true, mends: true })?;
    let verdict =
        findings.checks.iter().find(|check| check.tag == tag).map_or(Verdict::NotChecked, |check| check.verdict);
    if common.json {
        let checks: Vec<_> = findings.checks.iter().filter(|check| check.tag == tag).collect();
        let not_checked: Vec<_> = findings.not_checked.iter().filter(|item| item.tag == tag).collect();
        io.json(&serde_json::json!({ "tag": tag, "verdict": verdict, "checks": checks, "not_checked": not_checked }))?;
    } else {
        let sheet = why_screen::why(&loaded.design, &findings, &tag, io.width);
        io.show(&sheet)?;
    }
    Ok(verdict.into())
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
    let nearest = places::nearest(typed, tags.iter().map(String::as_str)).map(ToOwned::to_owned);
    Err(ClientError::UnknownTag { tag: typed.to_owned(), nearest })
}
