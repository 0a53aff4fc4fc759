//! Stamps as the crew see them.

use super::key_now;
use super::obstacles::without_figure;
use crate::app::access::find;
use crate::app::{App, AppError, AppResult, engine};
use crate::auth::Caller;
use crate::store::{self, Connection, cutting, revisions};
use battenboard_engine::findings::Verdict;
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// Stamps of a design that are looked through for a page of its revisions.
const MOST: u64 = 500;

/// The word that a revision is the one to cut.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StampView {
    /// The revision.
    pub ordinal: i64,
    /// Account name of who issued it.
    pub issued_by: String,
    /// When.
    pub issued_at: i64,
    /// Why, though something stood in the way; empty: nothing did.
    pub override_reason: String,
    /// What stood in the way.
    pub overridden: Vec<String>,
    /// When it was taken back, by whom and why.
    pub taken_back: Option<(i64, String, String)>,
    /// True where another revision was issued since.
    pub superseded: bool,
    /// True where a later engine finds that it falls short.
    pub falls_short_now: bool,
}

impl StampView {
    /// The same without the server's figures in what stood in the way.
    #[must_use]
    pub fn without_figures(mut self) -> Self {
        for said in &mut self.overridden {
            *said = without_figure(said).to_owned();
        }
        self
    }
}

/// The newest stamp of each of these revisions that has one, by revision.
///
/// # Errors
/// Those of the store.
pub async fn stamps_of<C: Connection>(
    conn: &C,
    headings: &[revisions::Heading],
) -> AppResult<BTreeMap<Uuid, StampView>> {
    let designs: BTreeSet<Uuid> = headings.iter().map(|heading| heading.design_id).collect();
    let mut views = BTreeMap::new();
    for design in designs {
        let rows = cutting::stamps(conn, design, None, MOST).await?;
        if rows.is_empty() {
            continue;
        }
        let of: Vec<&revisions::Heading> = headings.iter().filter(|heading| heading.design_id == design).collect();
        let standing = rows.iter().find(|row| row.taken_back_at.is_none()).map(|row| row.id);
        for heading in of {
            if let Some(row) = rows.iter().find(|row| row.revision_id == heading.id) {
                views.insert(heading.id, view(conn, row.clone(), standing, heading).await?);
            }
        }
    }
    Ok(views)
}

/// One stamp; `standing` is the newest of its design that was not taken back.
pub(super) async fn view<C: Connection>(
    conn: &C,
    row: cutting::Stamp,
    standing: Option<Uuid>,
    heading: &revisions::Heading,
) -> AppResult<StampView> {
    let names = store::accounts::names(conn, [row.account_id].into_iter().chain(row.taken_back_by)).await?;
    let name = |id: Uuid| names.get(&id).cloned().unwrap_or_default();
    let short = row.engine_fingerprint != engine::fingerprint() && {
        let found = store::findings::summaries(conn, &[key_now(heading)]).await?;
        found.iter().any(|summary| summary.verdict == engine::verdict_word(Verdict::FallsShort))
    };
    Ok(StampView {
        ordinal: row.ordinal,
        issued_by: name(row.account_id),
        issued_at: row.issued_at,
        override_reason: row.override_reason,
        overridden: row.overridden.lines().map(str::to_owned).collect(),
        superseded: row.taken_back_at.is_none() && standing != Some(row.id),
        falls_short_now: row.taken_back_at.is_none() && short,
        taken_back: row.taken_back_at.map(|at| {
            let by = row.taken_back_by.map(name).unwrap_or_default();
            (at, by, row.taken_back_reason)
        }),
    })
}

impl App {
    /// Stamps of a design, newest first, with the token of the next page.
    ///
    /// # Errors
    /// [`AppError::NotFound`]; [`AppError::Invalid`] for a page token of another list.
    pub async fn list_cutting_stamps(
        &self,
        caller: &Caller,
        group: &str,
        design: &str,
        size: i32,
        token: &str,
    ) -> AppResult<(Vec<StampView>, String)> {
        let conn = self.store.read();
        let place = find(conn, caller, group, design).await?;
        let page = self.pages.read(format!("stamps of {}", place.design.id), size, token)?;
        let before = page.after.as_deref().map(|after| Uuid::try_parse(after).map_err(AppError::internal));
        let mut rows = cutting::stamps(conn, place.design.id, before.transpose()?, page.limit()).await?;
        let next = self.pages.cut(&page, &mut rows, |row| row.id.to_string());
        let newest = cutting::stamps(conn, place.design.id, None, MOST).await?;
        let standing = newest.iter().find(|row| row.taken_back_at.is_none()).map(|row| row.id);
        let mut views = Vec::new();
        for row in rows {
            let heading = place.heading(conn, row.ordinal).await?;
            let view = view(conn, row, standing, &heading).await?;
            views.push(if place.access.withheld { view.without_figures() } else { view });
        }
        Ok((views, next))
    }
}
