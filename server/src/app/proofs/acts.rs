//! What follows from a result by itself: a later revision that passes clears a snag, one that fails opens it again.

use super::read_load;
use crate::app::letters::letter;
use crate::app::remarks::{Act, MOST_ENTRIES, RemarkKind, RemarkState};
use crate::app::{AppError, AppResult};
use crate::store::{Connection, proofs, remarks, revisions};
use battenboard_engine::proof::{ProofLoad, ProofOutcome, ProofResult};

/// Acts on the remark of a result that was just written. Only the newest revision with a result has a say: results may
/// come in another order than their revisions.
///
/// # Errors
/// Those of the store.
pub(in crate::app) async fn follow_up<C: Connection>(
    conn: &C,
    row: &proofs::ProofResult,
    result: &ProofResult,
    now: i64,
) -> AppResult<()> {
    let gone = |what: &str| AppError::internal(format!("the {what} of a proof load is gone"));
    // Locked before the newest result is looked for: whoever ends another result of this remark waits here.
    let remark = remarks::for_update(conn, row.remark_id).await?.ok_or_else(|| gone("remark"))?;
    if proofs::newest_done(conn, row.remark_id).await?.is_some_and(|newest| newest.id != row.id) {
        return Ok(());
    }
    let Some(act) = act_on(conn, &remark, row, result).await? else { return Ok(()) };
    let state = RemarkState::of_word(&remark.state).ok_or_else(|| gone("state"))?;
    let Ok(follows) = act.follows(state) else { return Ok(()) };
    if remark.entries >= MOST_ENTRIES {
        tracing::warn!(remark = %remark.id, "a remark has as many entries as it may have; a proof load adds none");
        return Ok(());
    }
    let revision = revisions::heading(conn, remark.design_id, row.ordinal).await?.ok_or_else(|| gone("revision"))?;
    let load = proofs::load_of(conn, remark.id).await?.ok_or_else(|| gone("load"))?;
    let entry = remarks::Entry {
        remark_id: remark.id,
        number: remark.entries + 1,
        act: act.word().to_owned(),
        author_id: revision.author_id,
        text: sentence(&letter(row.ordinal), &read_load(&load.body)?, result),
        ordinal: row.ordinal,
        created_at: now,
    };
    remarks::append(conn, entry, follows.word()).await?;
    Ok(())
}

async fn act_on<C: Connection>(
    conn: &C,
    remark: &remarks::Remark,
    row: &proofs::ProofResult,
    result: &ProofResult,
) -> AppResult<Option<Act>> {
    let later = row.ordinal > remark.ordinal;
    let snag = remark.kind == RemarkKind::Snag.word();
    let cleared = remark.state == RemarkState::Cleared.word();
    Ok(match result.outcome {
        ProofOutcome::Passed if later && snag && !cleared => Some(Act::Proved),
        ProofOutcome::Failed if cleared => {
            let clearing = [Act::Clear.word(), Act::Proved.word()];
            let last = remarks::last_act(conn, remark.id, &clearing).await?;
            last.filter(|entry| entry.act == Act::Proved.word()).map(|_| Act::FellShortAgain)
        }
        // What cannot be run is no pass, and no fail either.
        ProofOutcome::Passed | ProofOutcome::Failed | ProofOutcome::CannotBeRun => None,
    })
}

/// `revision D carries it: 3.1 mm of 5 mm allowed, 62 % of what it can carry`.
fn sentence(letter: &str, load: &ProofLoad, result: &ProofResult) -> String {
    let begin = match result.outcome {
        ProofOutcome::Passed => format!("revision {letter} carries it"),
        ProofOutcome::Failed | ProofOutcome::CannotBeRun => format!("revision {letter} does not carry it"),
    };
    let sag = result.sag.as_ref().map(|sag| match load.most_sag_mm {
        Some(most) => format!("{} mm of {} mm allowed", tenths(sag.at_place_mm), tenths(most)),
        None => format!("sags {} mm", tenths(sag.at_place_mm)),
    });
    let used = result.governing.as_ref().map(|check| {
        let most = load.most_utilisation.map(|most| format!(", {:.0} % allowed", 100.0 * most)).unwrap_or_default();
        format!("{} at {:.0} % of what it can carry{most}", check.tag, 100.0 * check.utilisation)
    });
    let figures: Vec<String> = sag.into_iter().chain(used).collect();
    if figures.is_empty() { begin } else { format!("{begin}: {}", figures.join("; ")) }
}

/// A length to a tenth, without a needless nought.
fn tenths(mm: f64) -> String {
    let text = format!("{mm:.1}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

#[cfg(test)]
mod tests {
    use super::*;
    use battenboard_engine::proof::{Lasts, Press, ProofSag, SagWhen, Target};

    #[test]
    fn the_entry_says_the_figures() {
        let load = ProofLoad {
            target: Target::Member { tag: "F2".into(), at_mm: 600.0 },
            press: Press::Mass(100.0),
            most_sag_mm: Some(5.0),
            most_utilisation: None,
            sag: SagWhen::AtOnce,
            lasts: Lasts::Short,
        };
        let sag = ProofSag { at_place_mm: 3.12, greatest_mm: 3.2, greatest_tag: "F2".into(), greatest_at_mm: 500.0 };
        let result = ProofResult {
            outcome: ProofOutcome::Passed,
            reason: None,
            point_mm: None,
            sag: Some(sag),
            governing: None,
            not_judged: Vec::new(),
        };
        assert_eq!(sentence("D", &load, &result), "revision D carries it: 3.1 mm of 5 mm allowed");
        let failed = ProofResult { outcome: ProofOutcome::Failed, ..result };
        assert_eq!(sentence("E", &load, &failed), "revision E does not carry it: 3.1 mm of 5 mm allowed");
    }
}
