//! Submissions that wait for the network, and the one at hand among them. What is at hand is kept before it is sent, with
//! the id it is sent under: whatever happens then, the next submit sends the very same, and a server that had it already
//! recognises it.

use super::{Common, file};
use crate::error::ClientError;
use crate::exit::Exit;
use crate::io::Io;
use crate::output::{times, words};
use crate::sidecar::{Sidecar, Unsent};

/// Most submissions that are kept for one design file.
pub const MOST_KEPT: usize = 50;

/// The kept submissions of a design file, oldest first, as they stand on disk.
pub struct Queue {
    sidecar: Sidecar,
    list: Vec<Unsent>,
}

/// The submission that was asked for.
#[derive(Clone, Debug)]
pub struct AtHand {
    /// What is sent.
    pub submission: Unsent,
    /// True where it was not kept before.
    pub fresh: bool,
    /// True where the builder named the letter he worked from: he has seen what came between.
    pub letter_named: bool,
}

/// Whether two are the same file on its way to the same design; a group that is not known yet is any.
fn same(one: &Unsent, other: &Unsent) -> bool {
    one.text == other.text && same_design(one, other)
}

fn same_design(one: &Unsent, other: &Unsent) -> bool {
    let groups = one.group == other.group || one.group.is_empty() || other.group.is_empty();
    groups && (&one.server, &one.design) == (&other.server, &other.design)
}

impl Queue {
    /// What is kept beside that design file.
    pub fn open(sidecar: &Sidecar) -> Result<Self, ClientError> {
        Ok(Self { sidecar: sidecar.clone(), list: sidecar.unsent()? })
    }

    /// Keeps what is at hand before it is sent. Where the last one that waits is the very same, that is at hand, under its
    /// id and with its note.
    pub fn take_in(&mut self, now: Unsent, letter_named: bool) -> Result<AtHand, ClientError> {
        let last = self.list.iter().rfind(|item| item.waits() && same_design(item, &now));
        // A server takes an id for one request only; the letter is part of it, and so is what the design was drawn after.
        let alike = |last: &Unsent| !letter_named || last.worked_from == now.worked_from;
        let no_less = |last: &Unsent| now.drawn_after.is_some() || last.drawn_after.is_none();
        let repeats = |last: &&Unsent| same(last, &now) && alike(last) && no_less(last);
        if let Some(last) = last.filter(repeats) {
            return Ok(AtHand { submission: last.clone(), fresh: false, letter_named });
        }
        // A full list may be shorter once the network is back: then this one is sent without having been kept.
        if self.list.len() < MOST_KEPT {
            self.list.push(now.clone());
            self.write()?;
        }
        Ok(AtHand { submission: now, fresh: true, letter_named })
    }

    /// Whether something goes to this server that was kept before its group was known.
    pub fn lacks_group(&self, at_hand: &AtHand) -> bool {
        let now = &at_hand.submission;
        now.group.is_empty() || self.list.iter().any(|item| item.group.is_empty() && item.server == now.server)
    }

    /// Gives those their group.
    pub fn settle_group(&mut self, at_hand: &mut AtHand, group: &str) -> Result<(), ClientError> {
        let now = &mut at_hand.submission;
        let server = now.server.clone();
        for item in self.list.iter_mut().filter(|item| item.server == server).chain([now]) {
            if item.group.is_empty() {
                group.clone_into(&mut item.group);
            }
        }
        self.write()
    }

    /// The next one that goes to this server before what is at hand.
    pub fn next_before(&self, at_hand: &AtHand) -> Option<Unsent> {
        let now = &at_hand.submission;
        let mut before = self.list.iter().take_while(|item| item.request_id != now.request_id);
        // Who names a letter sends the file that is his answer to it, and nothing older.
        let goes = |item: &&Unsent| {
            item.waits() && item.server == now.server && !(at_hand.letter_named && same_design(item, now))
        };
        before.find(goes).cloned()
    }

    /// Takes one out that the server has; those after it that were worked from the same letter are worked from it.
    pub fn is_sent(&mut self, sent: &Unsent, letter: &str, at_hand: &mut AtHand) -> Result<(), ClientError> {
        self.list.retain(|item| item.request_id != sent.request_id);
        let follows = |item: &Unsent| item.worked_from == sent.worked_from && same_design(item, sent);
        for item in self.list.iter_mut().filter(|item| item.waits() && follows(item)) {
            letter.clone_into(&mut item.worked_from);
            item.drawn_after = None;
        }
        if !at_hand.letter_named && follows(&at_hand.submission) {
            letter.clone_into(&mut at_hand.submission.worked_from);
            at_hand.submission.drawn_after = None;
        }
        self.write()
    }

    /// What was at hand is a revision now; older ones of its design, which it answers for, give way. Gives how many did.
    pub fn is_done(&mut self, done: &Unsent) -> Result<usize, ClientError> {
        self.list.retain(|item| item.request_id != done.request_id);
        let gave_way = self.give_way(done);
        self.write()?;
        Ok(gave_way)
    }

    /// Without network: what is at hand stays kept. Where the builder named the letter, older ones give way to it.
    pub fn is_kept(&mut self, at_hand: &AtHand) -> Result<(), ClientError> {
        let now = &at_hand.submission;
        if !self.holds(now) && self.list.len() < MOST_KEPT {
            self.list.push(now.clone());
        }
        if at_hand.letter_named && self.holds(now) {
            self.give_way(now);
        }
        self.write()
    }

    fn give_way(&mut self, to: &Unsent) -> usize {
        let older = |item: &&mut Unsent| item.waits() && same_design(item, to) && item.request_id != to.request_id;
        self.list.iter_mut().filter(older).map(|item| item.gave_way = true).count()
    }

    /// The server said no. What was kept before stays, with the letter that came between, if that is why; what is only at
    /// hand does not: it stands in the file.
    pub fn is_refused(&mut self, refused: &Unsent, at_hand: &AtHand, error: &ClientError) -> Result<(), ClientError> {
        if at_hand.fresh {
            self.list.retain(|item| item.request_id != at_hand.submission.request_id);
        }
        if let ClientError::SomeoneElse { latest, .. } = error {
            for item in self.list.iter_mut().filter(|item| item.request_id == refused.request_id) {
                latest.clone_into(&mut item.behind);
            }
        }
        self.write()
    }

    /// How many wait for this server.
    pub fn waiting(&self, server: &str) -> usize {
        self.list.iter().filter(|item| item.waits() && item.server == server).count()
    }

    /// Servers other than this for which some wait.
    pub fn elsewhere(&self, server: &str) -> Vec<&str> {
        let mut others: Vec<&str> =
            self.list.iter().filter(|item| item.waits() && item.server != server).map(|item| &*item.server).collect();
        others.sort_unstable();
        others.dedup();
        others
    }

    fn holds(&self, submission: &Unsent) -> bool {
        self.list.iter().any(|item| item.request_id == submission.request_id)
    }

    fn write(&self) -> Result<(), ClientError> {
        self.sidecar.keep_unsent(&self.list)
    }
}

/// Without network: says what is kept. The exit code is that of the failure.
pub fn say_kept(
    common: &Common,
    io: &mut Io<'_>,
    queue: &Queue,
    at_hand: &AtHand,
    cause: &ClientError,
) -> Result<Exit, ClientError> {
    let submission = &at_hand.submission;
    let count = queue.waiting(&submission.server);
    let kept = queue.holds(submission);
    if common.json {
        io.json(&serde_json::json!({ "kept": kept, "kept_us": submission.kept_us, "waiting_count": count,
            "server": submission.server, "group": submission.group, "design": submission.design,
            "worked_from": submission.worked_from, "cause": cause.to_string() }))?;
    }
    io.note(&format!("batten: {cause}"));
    if !kept {
        io.note(&format!(
            "There are {MOST_KEPT} kept submissions already, the most there can be: this one is not kept. It stands in your \
             file; submit again when the network is back. batten submit --drop-kept makes room."
        ));
        return Ok(cause.exit());
    }
    let since = times::ago(submission.kept_us, (io.now)());
    io.note(&if at_hand.fresh {
        "The submission is kept in .batten/unsent, as the file is now: what you change from now on does not change it. The \
         next batten submit sends it. Nothing is lost."
            .to_owned()
    } else {
        format!("This very submission is kept in .batten/unsent, {since}; the next batten submit sends it. Nothing is lost.")
    });
    if count > 1 {
        io.note(&format!("{count} submissions wait now; they go in their order."));
    }
    Ok(cause.exit())
}

/// `submit --drop-kept`: removes what is kept, sends nothing, needs no network. The design file stays as it is.
pub fn drop_kept(common: &Common, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let sidecar = Sidecar::of(&file::find(io, common.file())?);
    let kept = sidecar.unsent()?;
    sidecar.keep_unsent(&[])?;
    if common.json {
        let dropped: Vec<_> = kept
            .iter()
            .map(|item| serde_json::json!({ "kept_us": item.kept_us, "design": item.design, "note": item.note }))
            .collect();
        io.json(&serde_json::json!({ "dropped": dropped }))?;
        return Ok(Exit::Holds);
    }
    let now = (io.now)();
    let ages: Vec<String> = kept.iter().map(|item| times::ago(item.kept_us, now)).collect();
    let mut sheet = io.sheet();
    sheet.paragraph(&match kept.len() {
        0 => "Nothing is kept here.".to_owned(),
        1 => format!("Dropped: the submission that was kept {}. Your file stays as it is.", ages[0]),
        count => format!("Dropped: {count} submissions, kept {}. Your file stays as it is.", words::list(&ages, 4)),
    });
    io.show(&sheet)?;
    Ok(Exit::Holds)
}

#[cfg(test)]
#[path = "queue_tests.rs"]
mod tests;
