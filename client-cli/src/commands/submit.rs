//! `submit`: what changed, the letter it will get, then the server's findings. Without network it is kept, and sent by the
//! next submit.

mod queue;

use super::{Common, designs, online, remarks, vehicles, withheld};
use crate::args::SubmitArgs;
use crate::compare::{self, Changes};
use crate::connect::{self, Server, request_id};
use crate::error::ClientError;
use crate::exit::Exit;
use crate::file::{self, Loaded};
use crate::io::Io;
use crate::output::{check_screen, compare_screen, standings, times, vehicle_screen, words};
use crate::remark::Remark;
use crate::sidecar::{Home, KeptFindings, KeptRemarks, Sidecar, Source, Unsent};
use battenboard_engine::findings::Findings;
use battenboard_proto::v1;
use battenboard_proto::v1::finding_service_client::FindingServiceClient;
use queue::{AtHand, Queue};

pub fn run(common: &Common, args: SubmitArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    if args.drop_kept {
        return queue::drop_kept(common, io);
    }
    let loaded = file::load(io, common.file())?;
    let sidecar = Sidecar::of(&loaded.path);
    if args.forget_source {
        sidecar.keep_drawn_after(None)?;
    }
    let home = sidecar.home()?;
    let url = connect::address(&online::url(common, io, home.as_ref())?)?;
    let mut queue = Queue::open(&sidecar)?;
    let source = sidecar.drawn_after()?.filter(|source| source.server == url);
    let submission = Unsent { drawn_after: source, ..submission(&loaded, &args, home.as_ref(), url, io) };
    // Only a design's first revision tells it.
    let drawn_after = submission.drawn_after.clone().filter(|_| submission.worked_from.is_empty());
    let submission = Unsent { drawn_after, ..submission };
    let mut at_hand = queue.take_in(submission, args.worked_from.is_some())?;
    let job = Job { common, args: &args, sidecar: &sidecar, loaded: &loaded };
    match job.online(io, home.as_ref(), &mut queue, &mut at_hand) {
        Err(error @ ClientError::Unreachable { .. }) => {
            queue.is_kept(&at_hand)?;
            queue::say_kept(common, io, &queue, &at_hand, &error)
        }
        other => other,
    }
}

/// What one submit is about.
struct Job<'a> {
    common: &'a Common,
    args: &'a SubmitArgs,
    sidecar: &'a Sidecar,
    loaded: &'a Loaded,
}

/// What is to be sent; the group is empty where only the server can tell it.
fn submission(loaded: &Loaded, args: &SubmitArgs, home: Option<&Home>, server: String, io: &Io<'_>) -> Unsent {
    let design = loaded.design.name.clone();
    let here = home.filter(|home| home.server == server);
    let group = args.group.group.clone().or_else(|| here.map(|home| home.group.clone())).unwrap_or_default();
    let known = here.filter(|home| home.group == group && home.design == design);
    let letter = args.worked_from.as_ref().map(|letter| letter.to_uppercase());
    Unsent {
        kept_us: (io.now)().as_microsecond(),
        server,
        group,
        design,
        text: loaded.text.clone(),
        note: args.note.clone().unwrap_or_default(),
        worked_from: letter.or_else(|| known.map(|home| home.letter.clone())).unwrap_or_default(),
        drawn_after: None,
        request_id: request_id(),
        behind: String::new(),
        gave_way: false,
    }
}

impl Job<'_> {
    /// Everything that needs the server; [`ClientError::Unreachable`] leaves the queue as it stands.
    fn online(
        &self,
        io: &mut Io<'_>,
        home: Option<&Home>,
        queue: &mut Queue,
        at_hand: &mut AtHand,
    ) -> Result<Exit, ClientError> {
        let mut server = match self.way_in(io, home, queue, at_hand) {
            Ok(server) => server,
            Err(error) => return self.refused(io, queue, &at_hand.submission.clone(), at_hand, error),
        };
        while let Some(kept) = queue.next_before(at_hand) {
            if let Err(error) = self.send_kept(io, &mut server, queue, &kept, at_hand) {
                return self.refused(io, queue, &kept, at_hand, error);
            }
        }
        for other in queue.elsewhere(server.url()) {
            io.note(&format!("A submission kept for {other} waits still: batten submit --server {other}"));
        }
        let submission = at_hand.submission.clone();
        let answer = self.announce(io, &mut server, at_hand).and_then(|()| self.submit(io, &mut server, &submission));
        match answer {
            Ok(answer) => self.done(io, &mut server, queue, &submission, answer),
            Err(error) => self.refused(io, queue, &submission, at_hand, error),
        }
    }

    fn announce(&self, io: &mut Io<'_>, server: &mut Server, at_hand: &AtHand) -> Result<(), ClientError> {
        let submission = &at_hand.submission;
        if !at_hand.fresh {
            let since = times::ago(submission.kept_us, (io.now)());
            io.note(&format!(
                "Sending what was kept {since}: a server that has it already makes no second letter of it."
            ));
        }
        if self.common.json { Ok(()) } else { announce(io, server, self.sidecar, self.loaded, submission) }
    }

    /// Sends one; where someone else was first, shows what came between.
    fn submit(
        &self,
        io: &mut Io<'_>,
        server: &mut Server,
        submission: &Unsent,
    ) -> Result<v1::SubmitRevisionResponse, ClientError> {
        let answer = submit(server, submission);
        if matches!(answer, Err(ClientError::SomeoneElse { .. })) {
            // Without it the refusal still says who was first and how to go on.
            let _ = show_what_came_between(self.common, io, server, submission);
        }
        answer
    }

    /// Opens the way, and settles the group.
    fn way_in(
        &self,
        io: &mut Io<'_>,
        home: Option<&Home>,
        queue: &mut Queue,
        at_hand: &mut AtHand,
    ) -> Result<Server, ClientError> {
        let mut server = Server::connect(io, &at_hand.submission.server)?;
        if queue.lacks_group(at_hand) {
            let group = online::group(&mut server, &self.args.group, home)?;
            queue.settle_group(at_hand, &group)?;
        }
        Ok(server)
    }

    /// Sends one that was kept before, as it was then.
    fn send_kept(
        &self,
        io: &mut Io<'_>,
        server: &mut Server,
        queue: &mut Queue,
        kept: &Unsent,
        at_hand: &mut AtHand,
    ) -> Result<(), ClientError> {
        let since = times::ago(kept.kept_us, (io.now)());
        let answer = self.submit(io, server, kept)?;
        let letter = online::needed(answer.revision, "revision")?.letter;
        let changed =
            if kept.text == self.loaded.text { "" } else { " The file has changed since; it went as it was then." };
        io.note(&format!("What was kept {since} is sent: it is revision {letter}.{changed}"));
        remember(self.sidecar, kept, &letter)?;
        queue.is_sent(kept, &letter, at_hand)
    }

    /// Where the server said no: what was kept before is kept still.
    fn refused(
        &self,
        io: &mut Io<'_>,
        queue: &mut Queue,
        refused: &Unsent,
        at_hand: &AtHand,
        error: ClientError,
    ) -> Result<Exit, ClientError> {
        if matches!(error, ClientError::Unreachable { .. } | ClientError::PipeClosed) {
            return Err(error);
        }
        queue.is_refused(refused, at_hand, &error)?;
        if !at_hand.fresh || refused.request_id != at_hand.submission.request_id {
            let since = times::ago(refused.kept_us, (io.now)());
            io.note(&format!(
                "What was kept {since} is not taken, for the reason below; it is kept still. batten submit --drop-kept removes it."
            ));
        }
        Err(error)
    }

    /// The server has it: the folder remembers, and its findings are shown.
    fn done(
        &self,
        io: &mut Io<'_>,
        server: &mut Server,
        queue: &mut Queue,
        submission: &Unsent,
        answer: v1::SubmitRevisionResponse,
    ) -> Result<Exit, ClientError> {
        let revision = online::needed(answer.revision, "revision")?;
        remember(self.sidecar, submission, &revision.letter)?;
        let gave_way = queue.is_done(submission)?;
        if gave_way > 0 {
            io.note(&format!(
                "{gave_way} kept before gave way to revision {}; batten submit --drop-kept removes what is kept.",
                revision.letter
            ));
        }
        self.sidecar.keep_withheld(answer.figures_withheld)?;
        let findings = match answer.findings {
            Some(findings) => online::findings(findings)?,
            None if answer.figures_withheld => {
                return withheld::submitted(self.common, io, &revision, answer.unchanged);
            }
            None => match wait_for_findings(io, server, submission, &revision.letter) {
                // The revision is there; only its findings are still to be read.
                Err(ClientError::Unreachable { server, cause }) => {
                    io.note(&format!(
                        "Kept by the server as revision {}; its findings were not read.",
                        revision.letter
                    ));
                    return self.without_findings(io, &ClientError::Unreachable { server, cause }, &revision);
                }
                other => other?,
            },
        };
        let kept_us = (io.now)().as_microsecond();
        let kept = KeptFindings { kept_us, letter: revision.letter.clone(), findings: findings.clone() };
        self.sidecar.keep_findings(&kept)?;
        let remarks = remarks_now(io, server, self.sidecar, submission);
        if self.common.json {
            io.json(&serde_json::json!({
                "revision": designs::revision_json(&revision), "unchanged": answer.unchanged, "findings": findings,
                "remarks": remarks,
            }))?;
        } else {
            show(io, self.loaded, submission, &revision.letter, answer.unchanged, &findings)?;
            let drawn_on = vehicles::drawn_on(&revision);
            if let Some(said) = drawn_on.and_then(|it| vehicle_screen::outdated(&it, &io.zone)) {
                let mut sheet = io.sheet();
                sheet.blank();
                sheet.paragraph(&format!("It is {said}: batten survey --take takes that into the file."));
                io.show(&sheet)?;
            }
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

    fn without_findings(
        &self,
        io: &mut Io<'_>,
        cause: &ClientError,
        revision: &v1::Revision,
    ) -> Result<Exit, ClientError> {
        if self.common.json {
            io.json(&serde_json::json!({ "revision": designs::revision_json(revision), "findings": null }))?;
        }
        io.note(&format!("batten: {cause}"));
        Ok(cause.exit())
    }
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
        drawn_after: submission.drawn_after.as_ref().map(|source| v1::DrawnAfter {
            group: source.group.clone(),
            design: source.design.clone(),
            letter: source.letter.clone(),
        }),
    };
    let answer = server
        .call_for_status(body, async |channel, request| online::designs(channel).submit_revision(request).await)?;
    answer.map_err(|status| match connect::aborted(&status) {
        Some((latest, author)) => someone_else(submission, latest, author),
        None => refused(connect::refused(server.url(), &status), connect::is_not_found(&status), submission),
    })
}

/// A refusal; where it may be for what the design was drawn after, how to go on without.
fn refused(error: ClientError, not_found: bool, submission: &Unsent) -> ClientError {
    match (error, &submission.drawn_after) {
        (ClientError::Refused { exit, message, hint: _ }, Some(source)) if not_found => {
            let Source { group, design, letter, .. } = source;
            let hint = format!(
                "it was drawn after {group}/{design} {letter}, which you may not read any more? batten submit \
                 --forget-source leaves that out"
            );
            ClientError::Refused { exit, message, hint: Some(hint) }
        }
        (error, _) => error,
    }
}

/// What to do when `latest` came in after the letter one worked from.
pub fn go_on(worked_from: &str, latest: &str) -> String {
    let look = if worked_from.is_empty() {
        format!("batten fetch-file {latest} fetches it")
    } else {
        format!("batten compare {worked_from} {latest} shows what changed")
    };
    format!("{look}; when yours takes it in: batten submit --worked-from {latest}")
}

fn someone_else(submission: &Unsent, latest: String, author: String) -> ClientError {
    let worked_from = submission.worked_from.clone();
    let next = go_on(&worked_from, &latest);
    let worked_from = if worked_from.is_empty() { "none".to_owned() } else { worked_from };
    ClientError::SomeoneElse { latest, author, worked_from, next }
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
            let after = submission.drawn_after.as_ref().map(|source| {
                format!(
                    ", drawn after {}",
                    words::drawn_after(&submission.group, &source.group, &source.design, &source.letter)
                )
            });
            sheet.paragraph(&format!("{what}: it will be revision {letter}{}.", after.unwrap_or_default()));
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
            hint: Some(
                "batten check judges the file here; submit it again to have it checked again; if it fails again, \
                 tell the host of the server"
                    .to_owned(),
            ),
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
        sheet.paragraph(&format!("Kept as revision {letter} of {} ({}).", submission.design, submission.group));
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
