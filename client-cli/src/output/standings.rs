//! What became of the item a remark is on, in a builder's words.

use super::figures;
use crate::remark::{Remark, RemarkState, Standing, StandingKind};

/// What became of it since the remark was made; `None` where there is nothing to say: it was made on the revision that is
/// looked at, on the whole, or the server did not tell.
pub fn sentence(remark: &Remark) -> Option<String> {
    let standing = remark.standing.as_ref()?;
    let tag = remark.tag.as_deref()?;
    if standing.as_of == remark.letter {
        return None;
    }
    Some(said(tag, standing))
}

fn said(tag: &str, standing: &Standing) -> String {
    let Standing { tag: now, since, pieces, there_now, renamed_from, gone_since, .. } = standing;
    // The name it had on the way, where that is not the one the remark was made under.
    let called = if tag == now { String::new() } else { format!(" (then {tag})") };
    let at = standing.at_mm.map(|mm| format!(", {} from its marked end", figures::length(mm))).unwrap_or_default();
    match standing.what {
        StandingKind::AsItWas => format!("{now} stands as it was."),
        StandingKind::Changed => format!("{now}{called} was changed in {since}."),
        StandingKind::Moved => match there_now {
            Some(other) => format!("{now}{called} was moved in {since}; {other} lies where it lay."),
            None => format!("{now}{called} was moved in {since}."),
        },
        StandingKind::Renamed => {
            let from = renamed_from.as_deref().filter(|from| *from != tag);
            let between = from.map(|from| format!(", before that {from}")).unwrap_or_default();
            format!("{tag} is now called {now} (since {since}{between}){at}.")
        }
        StandingKind::Split => match &pieces[..] {
            [only] => format!("{tag} gave way to {only} in {since}, which lies where it lay{at}."),
            _ => format!("{tag} was cut up in {since}: this is on {now}{at}, of {}.", listed(pieces)),
        },
        StandingKind::Gone => format!("{now}{called} is gone since revision {since}."),
        StandingKind::Back => {
            let gone = gone_since.as_ref().map(|letter| format!(", gone in {letter}")).unwrap_or_default();
            format!("{now}{called} is back since {since}{gone}.")
        }
    }
}

/// `B7 and B8`, `B7, B8 and B9`.
fn listed(tags: &[String]) -> String {
    match tags.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        Some((last, _)) => last.clone(),
        None => String::new(),
    }
}

/// A remark was made on a revision after which another came.
pub fn newer(remark: &Remark, latest: &str) -> String {
    let letter = &remark.letter;
    match sentence(remark) {
        Some(said) => format!("You remarked on {letter}; {latest} is newer: there, {said}"),
        None => format!("You remarked on {letter}; {latest} is newer."),
    }
}

/// Which remarks that are not cleared are on something that the revision of this letter changed; `None`: none.
pub fn touched(remarks: &[Remark], letter: &str) -> Option<String> {
    let open: Vec<&Remark> = remarks.iter().filter(|remark| remark.state != RemarkState::Cleared).collect();
    let mut changed: Vec<(i64, String)> = open.iter().filter_map(|remark| told(remark, letter)).collect();
    if changed.is_empty() {
        return None;
    }
    changed.sort_unstable();
    let more = changed.len().saturating_sub(MOST_TOLD);
    let mut list: Vec<String> =
        changed.iter().take(MOST_TOLD).map(|(number, what)| format!("{number} ({what})")).collect();
    if more > 0 {
        list.push(format!("and {more} more: batten remarks --open"));
    }
    let (are, of) = match open.len() {
        1 => ("is", "The open remark".to_owned()),
        all => (if changed.len() == 1 { "is" } else { "are" }, format!("{} of {all} open remarks", changed.len())),
    };
    Some(format!("{of} {are} on what this revision changed: {}.", list.join(", ")))
}

/// Remarks that are told one by one; the rest are counted.
const MOST_TOLD: usize = 8;

fn told(remark: &Remark, letter: &str) -> Option<(i64, String)> {
    let standing = remark.standing.as_ref().filter(|standing| standing.since == letter && remark.letter != letter)?;
    let tag = &standing.tag;
    let what = match standing.what {
        StandingKind::AsItWas => format!("{tag} as it was again"),
        StandingKind::Changed => format!("{tag} changed"),
        StandingKind::Moved => format!("{tag} moved"),
        StandingKind::Renamed => {
            format!("{} now {tag}", standing.renamed_from.as_deref().or(remark.tag.as_deref()).unwrap_or_default())
        }
        StandingKind::Split => format!("cut up, now on {tag}"),
        StandingKind::Gone => format!("{tag} gone"),
        StandingKind::Back => format!("{tag} back"),
    };
    Some((remark.number, what))
}

#[cfg(test)]
#[path = "standings_tests.rs"]
mod tests;
