//! Designs and revisions: lists, comparison, the file of a revision.

mod wire;

pub use wire::{comparison, revision_json};

use super::online::{self, Target};
use super::{Common, cutting, reviews, vehicles, withheld};
use crate::args::{Audience, CompareArgs, DesignArgs, FetchFileArgs, GroupArgs, ShowToArgs};
use crate::connect::Server;
use crate::cutting::Stamp;
use crate::error::ClientError;
use crate::exit::Exit;
use crate::file;
use crate::io::Io;
use crate::output::columns::{Side, table};
use crate::output::compare_screen;
use crate::output::revisions_screen::{self, Heading, Line};
use crate::output::sheet::Sheet;
use crate::output::{cutting_screen, times, vehicle_screen, words};
use crate::sidecar::{Home, Sidecar};
use battenboard_proto::{convert, v1};
use std::path::Path;
use wire::{drawn_after, drawn_after_json, line};

pub fn designs(common: &Common, args: &GroupArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let mut server = online::connect(common, io)?;
    let home = online::sidecar(common, io)?.and_then(|(_, home)| home);
    let group = online::group(&mut server, args, home.as_ref())?;
    let list = online::list_designs(&mut server, &group)?;
    if common.json {
        let designs: Vec<_> = list
            .iter()
            .map(|design| {
                serde_json::json!({
                    "design": design.name, "title": design.title, "vehicle": design.vehicle,
                    "latest_letter": design.latest_letter, "latest_us": online::instant(design.latest_time),
                    "verdict": online::verdict(design.latest_verdict), "figures_withheld": design.figures_withheld,
                    "visible_to": visible_to(design.visibility()), "drawn_after": drawn_after_json(design),
                })
            })
            .collect();
        io.json(&serde_json::json!({ "group": group, "designs": designs }))?;
        return Ok(Exit::Holds);
    }
    let rows: Vec<Vec<String>> = list
        .iter()
        .map(|design| {
            vec![
                design.name.clone(),
                design.latest_letter.clone(),
                if design.figures_withheld { words::WITHHELD } else { verdict_text(design.latest_verdict) }.to_owned(),
                times::ago(online::instant(design.latest_time), (io.now)()),
                match drawn_after(design) {
                    Some(source) => format!("{} ({}); drawn after {source}", design.title, design.vehicle),
                    None => format!("{} ({})", design.title, design.vehicle),
                },
            ]
        })
        .collect();
    let mut sheet = io.sheet();
    sheet.paragraph(&format!("Designs of {group}"));
    if rows.is_empty() {
        sheet.hanging("Next: ", "batten submit brings the first");
    } else {
        let heads = [
            ("design", Side::Left),
            ("revision", Side::Left),
            ("verdict", Side::Left),
            ("came", Side::Left),
            ("what", Side::Left),
        ];
        table(&mut sheet, &heads, &rows);
        if list.iter().any(|design| design.figures_withheld) {
            sheet.hanging("Withheld: ", withheld::SAID);
        }
    }
    io.show(&sheet)?;
    Ok(Exit::Holds)
}

/// Who beyond its crew may see a design, in the command's own words.
fn visible_to(visibility: v1::Visibility) -> Option<&'static str> {
    match visibility {
        v1::Visibility::Unspecified => None,
        v1::Visibility::Group => Some("group"),
        v1::Visibility::Noticeboard => Some("noticeboard"),
        v1::Visibility::Open => Some("all"),
    }
}

pub fn show_to(common: &Common, args: &ShowToArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let (visibility, said) = match args.audience {
        Audience::Group => (v1::Visibility::Group, "its group alone, and to who took up a notice of it"),
        Audience::Noticeboard => {
            (v1::Visibility::Noticeboard, "its group, and to every account here while a notice of it hangs")
        }
        Audience::All => (v1::Visibility::Open, "anyone, without an account too"),
    };
    let mut server = online::connect(common, io)?;
    let (target, _) = online::target(common, &args.design, io, &mut server)?;
    let body = v1::UpdateDesignVisibilityRequest {
        group: target.group.clone(),
        design: target.design.clone(),
        visibility: visibility.into(),
    };
    let answer =
        server.call(body, async |channel, request| online::designs(channel).update_design_visibility(request).await)?;
    let design = online::needed(answer.design, "design")?;
    if common.json {
        let visible_to = visible_to(design.visibility());
        io.json(&serde_json::json!({ "group": target.group, "design": target.design, "visible_to": visible_to }))?;
        return Ok(Exit::Holds);
    }
    let mut sheet = io.sheet();
    sheet.paragraph(&format!("{} ({}) is shown to {said}.", target.design, target.group));
    if args.audience != Audience::Group {
        sheet.paragraph("Masses on the vehicle's plate and its weighings stay with the group.");
    }
    io.show(&sheet)?;
    Ok(Exit::Holds)
}

/// Revisions whose conclusions are asked for, one call each.
const MOST_CONCLUDED: usize = 12;

pub fn revisions(common: &Common, args: &DesignArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let mut server = online::connect(common, io)?;
    let (target, sidecar) = online::target(common, args, io, &mut server)?;
    let list = online::pages(|page_token| {
        let body = v1::ListRevisionsRequest {
            group: target.group.clone(),
            design: target.design.clone(),
            page_size: online::PAGE,
            page_token,
        };
        let answer =
            server.call(body, async |channel, request| online::designs(channel).list_revisions(request).await)?;
        Ok((answer.revisions, answer.next_page_token))
    })?;
    let withheld = list.iter().any(|revision| revision.figures_withheld);
    if let Some(sidecar) = &sidecar {
        sidecar.keep_withheld(withheld)?;
    }
    let body = v1::GetDesignRequest { group: target.group.clone(), design: target.design.clone() };
    let answer = server.call(body, async |channel, request| online::designs(channel).get_design(request).await)?;
    let design = online::needed(answer.design, "design")?;
    let mut concluded = Vec::new();
    for revision in list.iter().take(MOST_CONCLUDED) {
        concluded.push(reviews::of_revision(&mut server, &target, &revision.letter)?.conclusions);
    }
    concluded.resize(list.len(), Vec::new());
    if common.json {
        let revisions: Vec<_> = list
            .iter()
            .zip(&concluded)
            .map(|(revision, conclusions)| {
                let mut json = revision_json(revision);
                json["conclusions"] = serde_json::json!(conclusions);
                json
            })
            .collect();
        let said = withheld.then_some(withheld::SAID);
        io.json(&serde_json::json!({
            "group": target.group, "design": target.design, "drawn_after": drawn_after_json(&design),
            "revisions": revisions, "said": said,
        }))?;
        return Ok(Exit::Holds);
    }
    let older = list.len() > MOST_CONCLUDED;
    let lines: Vec<Line> =
        list.into_iter().zip(concluded).map(|(revision, conclusions)| line(revision, conclusions, &io.zone)).collect();
    let name = format!("{} ({})", target.design, target.group);
    let heading = Heading { name, drawn_after: drawn_after(&design), withheld: withheld::SAID };
    let mut sheet = revisions_screen::revisions(&heading, &lines, &io.zone, io.width);
    if older {
        sheet.paragraph("What reviewers concluded on older ones: batten review LETTER");
    }
    io.show(&sheet)?;
    Ok(Exit::Holds)
}

fn verdict_text(wire: i32) -> &'static str {
    online::verdict(wire).map_or("being checked", words::verdict_word)
}

pub fn compare(common: &Common, args: CompareArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let mut server = online::connect(common, io)?;
    let (target, _) = online::target(common, &args.design, io, &mut server)?;
    let body = v1::CompareRevisionsRequest {
        group: target.group.clone(),
        design: target.design.clone(),
        from_letter: args.from.to_uppercase(),
        to_letter: args.to.unwrap_or_default().to_uppercase(),
    };
    let answer =
        server.call(body, async |channel, request| online::designs(channel).compare_revisions(request).await)?;
    let wire = online::needed(answer.comparison, "comparison")?;
    let (from, to) = (wire.from_letter.clone(), wire.to_letter.clone());
    let (changes, effect) = comparison(wire);
    let said = effect.is_none().then_some(withheld::SAID);
    if common.json {
        io.json(&serde_json::json!({
            "from": from, "to": to, "changes": changes, "effect": effect, "figures_withheld": effect.is_none(),
            "said": said,
        }))?;
        return Ok(Exit::Holds);
    }
    let mut sheet = compare_screen::comparison(&from, &to, &changes, effect.as_ref(), io.width);
    warn(&mut sheet, &stamps(&mut server, &target, &[&from, &to])?);
    if let Some(said) = said {
        sheet.paragraph(said);
    }
    io.show(&sheet)?;
    Ok(Exit::Holds)
}

/// The stamps of these revisions.
fn stamps(server: &mut Server, target: &Target, letters: &[&str]) -> Result<Vec<Stamp>, ClientError> {
    let mut found = Vec::new();
    for letter in letters {
        found.extend(cutting::standing(server, target, letter)?.stamp);
    }
    Ok(found)
}

/// Every print of a stamped revision that falls short by now says so.
fn warn(sheet: &mut Sheet, stamps: &[Stamp]) {
    for warning in stamps.iter().filter_map(cutting_screen::warning) {
        sheet.paragraph(&warning);
    }
}

pub fn fetch_file(common: &Common, args: FetchFileArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let mut server = online::connect(common, io)?;
    let (target, _) = online::target(common, &args.design, io, &mut server)?;
    let body = v1::GetRevisionBodyRequest {
        group: target.group.clone(),
        design: target.design.clone(),
        letter: args.letter.unwrap_or_default().to_uppercase(),
    };
    let answer =
        server.call(body, async |channel, request| online::designs(channel).get_revision_body(request).await)?;
    let revision = online::needed(answer.revision, "revision")?;
    let text = if answer.text.is_empty() { written(online::needed(answer.frame, "frame")?)? } else { answer.text };
    if args.to.as_deref() == Some(Path::new("-")) {
        io.write_out(&text)?;
        return Ok(Exit::Holds);
    }
    let name = args.to.unwrap_or_else(|| format!("{}-{}.toml", target.design, revision.letter).into());
    let path = io.current_dir.join(&name);
    if path.exists() && !args.over {
        return Err(ClientError::usage(
            format!("`{}` is there already", name.display()),
            "--over writes over it; --to FILE writes another",
        ));
    }
    file::write_whole(&path, &text)?;
    let home = Home {
        server: server.url().to_owned(),
        group: target.group,
        design: target.design,
        letter: revision.letter.clone(),
    };
    let sidecar = Sidecar::of(&path);
    sidecar.keep_home(&home, &text)?;
    sidecar.keep_withheld(revision.figures_withheld)?;
    let stamp = revision.stamp.clone().map(cutting::stamp);
    if common.json {
        io.json(&serde_json::json!({ "file": name, "revision": revision_json(&revision) }))?;
    } else {
        let mut sheet = io.sheet();
        sheet.paragraph(&format!("Revision {} of {} written to {}.", revision.letter, home.design, name.display()));
        if let Some(stamp) = &stamp {
            cutting_screen::stamp_lines(&mut sheet, stamp, &io.zone);
        }
        if let Some(said) = vehicles::drawn_on(&revision).and_then(|it| vehicle_screen::outdated(&it, &io.zone)) {
            sheet.paragraph(&format!("It is {said}: batten survey --take takes that into the file."));
        }
        if revision.figures_withheld {
            sheet.paragraph(withheld::SAID);
            sheet.hanging("Next: ", "batten looked-at TAG --how own --own-utilisation 65%");
        } else {
            sheet.hanging("Next: ", &format!("batten check --file {}", name.display()));
        }
        io.show(&sheet)?;
    }
    Ok(Exit::Holds)
}

/// A file for a revision that came without one.
pub fn written(frame: v1::Frame) -> Result<String, ClientError> {
    let design = convert::frame_from_wire(frame).map_err(|violations| ClientError::Shape {
        cause: violations.first().map_or_else(String::new, ToString::to_string),
    })?;
    Ok(battenboard_designfile::write(&design))
}
