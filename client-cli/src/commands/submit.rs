//! `submit`: what changed, the letter it will get, then the server's findings. Without network it is kept, and sent by the
//! next submit.

use super::{Common, designs, online, remarks, withheld};
use crate::args::SubmitArgs;
use crate::compare::{self, Changes};
use crate::connect::{self, Server, request_id};
use crate::error::ClientError;
use crate::exit::Exit;
use crate::file::{self, Loaded};
use crate::io::Io;
use crate::output::{check_screen, compare_screen, standings};
use crate::remark::Remark;
use crate::sidecar::{Home, KeptFindings, KeptRemarks, Sidecar, Unsent};
use battenboard_engine::findings::Findings;
use battenboard_proto::v1;
use battenboard_proto::v1::finding_service_client::FindingServiceClient;

pub fn run(common: &Common, args: SubmitArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let loaded = file::load(io, common.file())?;
    let sidecar = Sidecar::of(&loaded.path);
    let home = sidecar.home()?;
    let url = online::url(common, io, home.as_ref())?;
    let mut server = match Server::connect(io, &url) {
        Ok(server) => server,
        Err(error @ ClientError::Unreachable { .. }) => {
            let group = args.group.group.clone().or_else(|| home.as_ref().map(|home| home.group.clone()));
            let Some(group) = group else { return Err(error) };
            let submission = submission(&loaded, &args, home.as_ref(), url, group, io);
            return keep(io, &sidecar, &submission, &error);
        }
        Err(error) => return Err(error),
    };
    let group = online::group(&mut server, &args.group, home.as_ref())?;
    let mut submission = submission(&loaded, &args, home.as_ref(), server.url().to_owned(), group, io);
    send_waiting(io, &mut server, &sidecar, args.worked_from.is_some(), &mut submission)?;
    send(common, io, &mut server, &sidecar, &loaded, submission)
}

/// What is to be sent.
fn submission(
    loaded: &Loaded,
    args: &SubmitArgs,
    home: Option<&Home>,
    server: String,
    group: String,
    io: &Io<'_>,
) -> Unsent {
    let design = loaded.design.name.clone();
    let known = home.filter(|home| home.server == server && home.group == group && home.design == design);
    let letter = args.worked_from.as_ref().map(|letter| letter.to_uppercase());
    Unsent {
        kept_us: (io.now)().as_microsecond(),
        server,
        group,
        design,
        text: loaded.text.clone(),
        note: args.note.clone().unwrap_or_default(),
        worked_from: letter.or_else(|| known.map(|home| home.letter.clone())).unwrap_or_default(),
        request_id: request_id(),
    }
}

/// Most submissions that are kept for one design file; a builder offline for longer sends the rest as one.
const MOST_KEPT: usize = 50;

fn keep(io: &mut Io<'_>, sidecar: &Sidecar, submission: &Unsent, cause: &ClientError) -> Result<Exit, ClientError> {
    let mut kept = sidecar.unsent()?;
    // An earlier try of the very same may have come through: its id, kept, lets the server recognise it.
    if !kept.last().is_some_and(|last| same(last, submission)) {
        kept.truncate(MOST_KEPT - 1);
        kept.push(submission.clone());
        sidecar.keep_unsent(&kept)?;
    }
    io.note(&format!("batten: {cause}"));
    io.note("The submission is kept in .batten/unsent; the next `batten submit` sends it. Nothing is lost.");
    Ok(Exit::Server)
}

fn same(one: &Unsent, other: &Unsent) -> bool {
    (&one.server, &one.group, &one.design, &one.text) == (&other.server, &other.group, &other.design, &other.text)
}

/// Sends what was kept, oldest first, each worked from the one before. The last of them may be what is at hand now: then
/// that is sent under its id.
fn send_waiting(
    io: &mut Io<'_>,
    server: &mut Server,
    sidecar: &Sidecar,
    letter_named: bool,
    now: &mut Unsent,
) -> Result<(), ClientError> {
    let mut waiting = sidecar.unsent()?;
    if waiting.is_empty() {
        return Ok(());
    }
    let home = |item: &Unsent| (item.server.clone(), item.group.clone(), item.design.clone());
    if letter_named || waiting.iter().any(|item| home(item) != home(now)) {
        // Whoever names the letter he worked from has looked at what came between: the file at hand is his answer.
        // It holds what was kept too, since all of it was written into the same file.
        io.note("What was kept unsent gives way to the file as it is now.");
        return sidecar.keep_unsent(&[]);
    }
    if waiting.last().is_some_and(|last| same(last, now))
        && let Some(last) = waiting.pop()
    {
        *now = last;
    }
    while !waiting.is_empty() {
        let first = waiting.remove(0);
        let answer = submit(server, &first)?;
        let letter = online::needed(answer.revision, "revision")?.letter;
        io.note(&format!("What was kept is sent: it is revision {letter}."));
        remember(sidecar, &first, &letter)?;
        if let Some(next) = waiting.first_mut() {
            next.worked_from.clone_from(&letter);
        }
        now.worked_from = letter;
        let rest: Vec<Unsent> = waiting.clone();
        sidecar.keep_unsent(&rest)?;
    }
    Ok(())
}

fn submit(server: &mut Server, submission: &Unsent) -> Result<v1::SubmitRevisionResponse, ClientError> {
    let body = v1::SubmitRevisionRequest {
        group: submission.group.clone(),
        design: submission.design.clone(),
        // The text says it all; the server reads it with the same reader as this command.
        frame: None,
        text: submission.text.clone(),
        note: submission.note.clone(),
        worked_from: submission.worked_from.clone(),
        request_id: submission.request_id.clone(),
    };
    let answer = server
        .call_for_status(body, async |channel, request| online::designs(channel).submit_revision(request).await)?;
    answer.map_err(|status| match connect::aborted(&status) {
        Some((latest, author)) => someone_else(submission, latest, author),
        None => connect::refused(server.url(), &status),
    })
}

fn someone_else(submission: &Unsent, latest: String, author: String) -> ClientError {
    let worked_from = submission.worked_from.clone();
    let look = if worked_from.is_empty() {
        format!("batten fetch-file {latest} fetches it")
    } else {
        format!("batten compare {worked_from} {latest} shows what changed")
    };
    let next = format!("{look}; when yours takes it in: batten submit --worked-from {latest}");
    let worked_from = if worked_from.is_empty() { "none".to_owned() } else { worked_from };
    ClientError::SomeoneElse { latest, author, worked_from, next }
}

fn send(
    common: &Common,
    io: &mut Io<'_>,
    server: &mut Server,
    sidecar: &Sidecar,
    loaded: &Loaded,
    submission: Unsent,
) -> Result<Exit, ClientError> {
    if !common.json {
        announce(io, server, sidecar, loaded, &submission)?;
    }
    let answer = match submit(server, &submission) {
        Ok(answer) => answer,
        Err(error @ ClientError::Unreachable { .. }) => return keep(io, sidecar, &submission, &error),
        Err(error @ ClientError::SomeoneElse { .. }) => {
            show_what_came_between(common, io, server, &submission)?;
            return Err(error);
        }
        Err(error) => return Err(error),
    };
    let revision = online::needed(answer.revision, "revision")?;
    remember(sidecar, &submission, &revision.letter)?;
    sidecar.keep_unsent(&[])?;
    sidecar.keep_withheld(answer.figures_withheld)?;
    let findings = match answer.findings {
        None if answer.figures_withheld => return withheld::submitted(common, io, &revision, answer.unchanged),
        Some(findings) => online::findings(findings)?,
        None => wait_for_findings(io, server, &submission, &revision.letter)?,
    };
    let kept_us = (io.now)().as_microsecond();
    sidecar.keep_findings(&KeptFindings { kept_us, letter: revision.letter.clone(), findings: findings.clone() })?;
    let remarks = remarks_now(io, server, sidecar, &submission);
    if common.json {
        io.json(&serde_json::json!({
            "revision": designs::revision_json(&revision), "unchanged": answer.unchanged, "findings": findings,
            "remarks": remarks,
        }))?;
    } else {
        show(io, loaded, &submission, &revision.letter, answer.unchanged, &findings)?;
        let touched = remarks.and_then(|remarks| standings::touched(&remarks, &revision.letter));
        if let Some(touched) = touched.filter(|_| !answer.unchanged) {
            let mut sheet = io.sheet();
            sheet.blank();
            sheet.paragraph(&touched);
            io.show(&sheet)?;
        }
    }
    Ok(findings.verdict.into())
}

/// All remarks as they stand now, kept in the folder. The revision is submitted whatever becomes of this: without an
/// answer it is only not told.
fn remarks_now(io: &mut Io<'_>, server: &mut Server, sidecar: &Sidecar, submission: &Unsent) -> Option<Vec<Remark>> {
    let target = online::Target { group: submission.group.clone(), design: submission.design.clone() };
    let found = remarks::all(server, &target, "").and_then(|remarks| {
        let kept = KeptRemarks { kept_us: (io.now)().as_microsecond(), remarks };
        sidecar.keep_remarks(&kept)?;
        Ok(kept.remarks)
    });
    match found {
        Ok(remarks) => Some(remarks),
        Err(error) => {
            io.note(&format!("The remarks could not be asked for: {error}"));
            None
        }
    }
}

/// What changed since the letter it was worked from, and the letter it will get.
fn announce(
    io: &mut Io<'_>,
    server: &mut Server,
    sidecar: &Sidecar,
    loaded: &Loaded,
    submission: &Unsent,
) -> Result<(), ClientError> {
    let latest = latest_letter(server, submission)?;
    let letter = latest.as_deref().map_or_else(|| "A".to_owned(), next_letter);
    let mut sheet = io.sheet();
    let what = format!("Submitting {} to {}", submission.design, submission.group);
    let from = submission.worked_from.as_str();
    match latest {
        Some(latest) if latest != from => {
            let from = if from.is_empty() { "none" } else { from };
            sheet.paragraph(&format!("{what}: worked from {from}; the latest is {latest}."));
            return io.show(&sheet);
        }
        Some(_) => {}
        None => {
            sheet.paragraph(&format!("{what}: it will be revision {letter}."));
            return io.show(&sheet);
        }
    }
    // The text at hand is that of the letter the folder remembers, and of no other.
    let remembered = sidecar.home()?.is_some_and(|home| home.letter == from);
    match changes_since(sidecar, loaded)?.filter(|_| remembered) {
        Some(changes) if changes.is_empty() => {
            sheet.paragraph(&format!("{what}: worked from {from}, and nothing in it has changed."));
        }
        changes => {
            sheet.paragraph(&format!("{what}: worked from {from}, it will be revision {letter}."));
            if let Some(changes) = changes {
                compare_screen::changes(&mut sheet, &changes);
            }
        }
    }
    io.show(&sheet)
}

/// Changes since the text the file was worked from; `None` where that is not known.
pub fn changes_since(sidecar: &Sidecar, loaded: &Loaded) -> Result<Option<Changes>, ClientError> {
    let Some(text) = sidecar.worked_from_text()? else { return Ok(None) };
    Ok(battenboard_designfile::read(&text).ok().map(|before| compare::compare(&before.design, &loaded.design)))
}

fn latest_letter(server: &mut Server, submission: &Unsent) -> Result<Option<String>, ClientError> {
    let body = v1::GetDesignRequest { group: submission.group.clone(), design: submission.design.clone() };
    let answer =
        server.call_for_status(body, async |channel, request| online::designs(channel).get_design(request).await)?;
    match answer {
        Ok(answer) => Ok(answer.design.map(|design| design.latest_letter)),
        // A first submission makes the design.
        Err(status) if connect::is_not_found(&status) => Ok(None),
        Err(status) => Err(connect::refused(server.url(), &status)),
    }
}

/// The letter after that one: A to Z without I and O, then AA.
pub fn next_letter(letter: &str) -> String {
    const LETTERS: &[u8] = b"ABCDEFGHJKLMNPQRSTUVWXYZ";
    let mut digits: Vec<usize> =
        letter.bytes().map(|byte| LETTERS.iter().position(|known| *known == byte).unwrap_or(0)).collect();
    let mut place = digits.len();
    loop {
        if place == 0 {
            digits.insert(0, 0);
            break;
        }
        place -= 1;
        if digits[place] + 1 < LETTERS.len() {
            digits[place] += 1;
            break;
        }
        digits[place] = 0;
    }
    digits.into_iter().map(|digit| char::from(LETTERS[digit])).collect()
}

fn show_what_came_between(
    common: &Common,
    io: &mut Io<'_>,
    server: &mut Server,
    submission: &Unsent,
) -> Result<(), ClientError> {
    if submission.worked_from.is_empty() || common.json {
        return Ok(());
    }
    let body = v1::CompareRevisionsRequest {
        group: submission.group.clone(),
        design: submission.design.clone(),
        from_letter: submission.worked_from.clone(),
        to_letter: String::new(),
    };
    let answer =
        server.call(body, async |channel, request| online::designs(channel).compare_revisions(request).await)?;
    let wire = online::needed(answer.comparison, "comparison")?;
    let (from, to) = (wire.from_letter.clone(), wire.to_letter.clone());
    let (changes, effect) = designs::comparison(wire);
    let sheet = compare_screen::comparison(&from, &to, &changes, effect.as_ref(), io.width);
    io.show(&sheet)
}

fn remember(sidecar: &Sidecar, submission: &Unsent, letter: &str) -> Result<(), ClientError> {
    let home = Home {
        server: submission.server.clone(),
        group: submission.group.clone(),
        design: submission.design.clone(),
        letter: letter.to_owned(),
    };
    sidecar.keep_home(&home, &submission.text)
}

fn wait_for_findings(
    io: &mut Io<'_>,
    server: &mut Server,
    submission: &Unsent,
    letter: &str,
) -> Result<Findings, ClientError> {
    let body = v1::WatchCheckRequest {
        group: submission.group.clone(),
        design: submission.design.clone(),
        letter: letter.to_owned(),
    };
    io.note(&format!("Kept as revision {letter}; waiting for its check."));
    let found = server.follow(
        body,
        async |channel, request| {
            FindingServiceClient::new(channel)
                .max_decoding_message_size(connect::MESSAGE_LIMIT)
                .watch_check(request)
                .await
        },
        |answer: v1::WatchCheckResponse| {
            let state = answer.progress.as_ref().map(v1::CheckProgress::check_state);
            match (answer.findings, state) {
                (Some(findings), _) => Some(Ok(findings)),
                (None, Some(v1::CheckState::Failed)) => Some(Err(())),
                (None, _) => None,
            }
        },
    )?;
    match found {
        Ok(findings) => online::findings(findings),
        Err(()) => Err(ClientError::Refused {
            exit: Exit::NotChecked,
            message: format!("revision {letter} is kept, but the server failed at checking it"),
            hint: Some("batten check judges the file here; tell the host of the server".to_owned()),
        }),
    }
}

fn show(
    io: &mut Io<'_>,
    loaded: &Loaded,
    submission: &Unsent,
    letter: &str,
    unchanged: bool,
    findings: &Findings,
) -> Result<(), ClientError> {
    let mut sheet = io.sheet();
    if unchanged {
        sheet.paragraph(&format!("Nothing changed: it says what revision {letter} says, so there is no new letter."));
    } else {
        sheet.paragraph(&format!("Kept as revision {letter} of {}/{}.", submission.group, submission.design));
    }
    if findings.engine_fingerprint != battenboard_engine::FINGERPRINT {
        sheet.paragraph("The server's engine is another build than this command's; its word counts.");
    }
    sheet.blank();
    sheet.append(0, &check_screen::first_screen(&loaded.design, findings, io.width));
    io.show(&sheet)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_skip_i_and_o_and_go_on_after_z() {
        let follow = [("A", "B"), ("H", "J"), ("N", "P"), ("Z", "AA"), ("AZ", "BA"), ("ZZ", "AAA")];
        for (letter, next) in follow {
            assert_eq!(next_letter(letter), next);
        }
    }
}
