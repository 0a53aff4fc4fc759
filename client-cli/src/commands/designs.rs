//! Designs and revisions: lists, comparison, the file of a revision.

use super::{Common, online};
use crate::args::{CompareArgs, DesignArgs, FetchFileArgs, GroupArgs};
use crate::compare::{ChangeKind, Changes, FieldChange, ItemChange};
use crate::error::ClientError;
use crate::exit::Exit;
use crate::file;
use crate::io::Io;
use crate::output::columns::{Side, table};
use crate::output::compare_screen::{self, Effect};
use crate::output::{figures, times, words};
use crate::sidecar::{Home, Sidecar};
use battenboard_proto::{convert, v1};
use std::path::Path;

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
                    "verdict": online::verdict(design.latest_verdict),
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
                verdict_text(design.latest_verdict).to_owned(),
                times::ago(online::instant(design.latest_time), (io.now)()),
                format!("{} ({})", design.title, design.vehicle),
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
    }
    io.show(&sheet)?;
    Ok(Exit::Holds)
}

pub fn revisions(common: &Common, args: &DesignArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let mut server = online::connect(common, io)?;
    let (target, _) = online::target(common, args, io, &mut server)?;
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
    if common.json {
        let revisions: Vec<_> = list.iter().map(revision_json).collect();
        io.json(&serde_json::json!({ "group": target.group, "design": target.design, "revisions": revisions }))?;
        return Ok(Exit::Holds);
    }
    let rows: Vec<Vec<String>> = list
        .iter()
        .map(|revision| {
            let worst = revision.worst_utilisation.map_or_else(
                || "-".to_owned(),
                |value| format!("{} {}", figures::utilisation(value), revision.worst_tag),
            );
            vec![
                revision.letter.clone(),
                verdict_text(revision.verdict).to_owned(),
                worst,
                revision.total_mass_kg.map_or_else(|| "-".to_owned(), |kg| format!("{kg:.1}")),
                revision.author.clone(),
                times::ago(online::instant(revision.create_time), (io.now)()),
                revision.note.clone(),
            ]
        })
        .collect();
    let mut sheet = io.sheet();
    sheet.paragraph(&format!("Revisions of {}/{}, newest first", target.group, target.design));
    let heads = [
        ("", Side::Left),
        ("verdict", Side::Left),
        ("worst of 1.00", Side::Left),
        ("kg", Side::Right),
        ("by", Side::Left),
        ("came", Side::Left),
        ("note", Side::Left),
    ];
    table(&mut sheet, &heads, &rows);
    io.show(&sheet)?;
    Ok(Exit::Holds)
}

pub fn revision_json(revision: &v1::Revision) -> serde_json::Value {
    serde_json::json!({
        "letter": revision.letter, "ordinal": revision.ordinal, "author": revision.author, "note": revision.note,
        "worked_from": revision.worked_from, "content_id": revision.content_id,
        "came_us": online::instant(revision.create_time), "verdict": online::verdict(revision.verdict),
        "total_mass_kg": revision.total_mass_kg, "worst_utilisation": revision.worst_utilisation,
        "worst_tag": revision.worst_tag,
    })
}

fn verdict_text(wire: i32) -> &'static str {
    online::verdict(wire).map_or("being checked", words::verdict_word)
}

pub fn compare(common: &Common, args: CompareArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let mut server = online::connect(common, io)?;
    let (target, _) = online::target(common, &args.design, io, &mut server)?;
    let body = v1::CompareRevisionsRequest {
        group: target.group,
        design: target.design,
        from_letter: args.from.to_uppercase(),
        to_letter: args.to.unwrap_or_default().to_uppercase(),
    };
    let answer =
        server.call(body, async |channel, request| online::designs(channel).compare_revisions(request).await)?;
    let wire = online::needed(answer.comparison, "comparison")?;
    let (from, to) = (wire.from_letter.clone(), wire.to_letter.clone());
    let (changes, effect) = comparison(wire);
    if common.json {
        io.json(&serde_json::json!({ "from": from, "to": to, "changes": changes, "effect": effect }))?;
    } else {
        let sheet = compare_screen::comparison(&from, &to, &changes, &effect, io.width);
        io.show(&sheet)?;
    }
    Ok(Exit::Holds)
}

/// The wire's comparison, made plain.
pub fn comparison(wire: v1::Comparison) -> (Changes, Effect) {
    let v1::Comparison {
        group: _,
        design: _,
        from_letter: _,
        to_letter: _,
        members,
        joints,
        anchors,
        decks,
        stock,
        stowage,
        people,
        loads,
        whole,
        verdict_before,
        verdict_after,
        mass_before_kg,
        mass_after_kg,
        utilisations,
        figures_withheld: _,
        to_be_measured,
    } = wire;
    let named = [
        ("member", members),
        ("joint", joints),
        ("anchor", anchors),
        ("deck", decks),
        ("stock", stock),
        ("stowage", stowage),
        ("people", people),
        ("load", loads),
        ("to be measured", to_be_measured),
    ];
    let changes = Changes {
        items: named
            .into_iter()
            .map(|(name, items)| (name.to_owned(), items.into_iter().filter_map(item).collect()))
            .collect(),
        whole: whole.into_iter().map(field).collect(),
    };
    let effect = Effect {
        verdict_before: online::verdict(verdict_before),
        verdict_after: online::verdict(verdict_after),
        mass_before_kg,
        mass_after_kg,
        utilisations: utilisations
            .into_iter()
            .map(|change| (change.tag, change.utilisation_before, change.utilisation_after))
            .collect(),
    };
    (changes, effect)
}

fn item(wire: v1::ItemChange) -> Option<ItemChange> {
    let kind = match v1::ChangeKind::try_from(wire.kind).ok()? {
        v1::ChangeKind::Unspecified => return None,
        v1::ChangeKind::Added => ChangeKind::Added,
        v1::ChangeKind::Gone => ChangeKind::Gone,
        v1::ChangeKind::Changed => ChangeKind::Changed,
    };
    Some(ItemChange { tag: wire.tag, kind, fields: wire.fields.into_iter().map(field).collect() })
}

fn field(wire: v1::FieldChange) -> FieldChange {
    let v1::FieldChange { field, before, after } = wire;
    FieldChange { field, before, after }
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
    Sidecar::of(&path).keep_home(&home, &text)?;
    if common.json {
        io.json(&serde_json::json!({ "file": name, "revision": revision_json(&revision) }))?;
    } else {
        let mut sheet = io.sheet();
        sheet.paragraph(&format!("Revision {} of {} written to {}.", revision.letter, home.design, name.display()));
        sheet.hanging("Next: ", &format!("batten check --file {}", name.display()));
        io.show(&sheet)?;
    }
    Ok(Exit::Holds)
}

/// A file for a revision that came without one.
fn written(frame: v1::Frame) -> Result<String, ClientError> {
    let design = convert::frame_from_wire(frame).map_err(|violations| ClientError::Shape {
        cause: violations.first().map_or_else(String::new, ToString::to_string),
    })?;
    Ok(battenboard_designfile::write(&design))
}
