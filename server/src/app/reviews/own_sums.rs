//! Sums of one's own: the server keeps its figures of a design from a reviewer until his own are in, or until he opens them
//! on purpose, which is recorded.

use crate::app::access::find;
use crate::app::names::text_faults;
use crate::app::{App, AppError, AppResult, NOTE_BYTES};
use crate::auth::Caller;
use crate::clock::{new_id, now_micros};
use crate::store::reviews;
use std::sync::Arc;

/// How own sums ended, in the database: with figures of his own.
pub(super) const FIGURES_IN: &str = "figures_in";
/// Opened without.
const OPENED: &str = "opened";

/// Somebody's sums of his own.
#[derive(Clone, Debug)]
pub struct OwnSumsView {
    /// Account name.
    pub account: String,
    /// When they were begun.
    pub begun_at: i64,
    /// When they ended.
    pub ended_at: Option<i64>,
    /// True where figures of his own were in.
    pub figures_in: bool,
    /// Why they were opened without.
    pub reason: String,
}

impl OwnSumsView {
    pub(super) fn of(row: reviews::OwnSums, account: String) -> Self {
        let figures_in = row.ended_how.as_deref() == Some(FIGURES_IN);
        Self { account, begun_at: row.begun_at, ended_at: row.ended_at, figures_in, reason: row.reason }
    }
}

impl App {
    /// Begins sums of one's own; where they were begun, they go on.
    ///
    /// # Errors
    /// [`AppError::NotFound`], [`AppError::NotAllowed`].
    pub async fn begin_own_sums(
        self: &Arc<Self>,
        caller: &Caller,
        group: String,
        design: String,
    ) -> AppResult<OwnSumsView> {
        let (app, by) = (Arc::clone(self), caller.clone());
        let work = async move {
            let now = now_micros();
            let tx = app.store.write_tx().await?;
            let place = find(&tx, &by, &group, &design).await?;
            crate::store::accounts::lock(&tx, by.account_id).await?;
            if let Some(row) = reviews::open_own_sums(&tx, place.design.id, by.account_id).await? {
                return Ok(OwnSumsView::of(row, by.account));
            }
            let row = reviews::OwnSums {
                id: new_id(),
                design_id: place.design.id,
                account_id: by.account_id,
                from_ordinal: place.design.latest_ordinal,
                begun_at: now,
                ended_at: None,
                ended_how: None,
                reason: String::new(),
            };
            reviews::insert_own_sums(&tx, row.clone()).await?;
            app.store.commit(tx).await?;
            Ok(OwnSumsView::of(row, by.account))
        };
        self.finish(work).await
    }

    /// Ends sums of one's own.
    ///
    /// # Errors
    /// [`AppError::NotFound`]; [`AppError::Invalid`] without figures of one's own and without a reason;
    /// [`AppError::WrongState`] where they were not begun.
    pub async fn end_own_sums(
        self: &Arc<Self>,
        caller: &Caller,
        group: String,
        design: String,
        reason: String,
    ) -> AppResult<OwnSumsView> {
        let faults = text_faults("reason", &reason, NOTE_BYTES, false);
        if !faults.is_empty() {
            return Err(AppError::Invalid { faults });
        }
        let (app, by) = (Arc::clone(self), caller.clone());
        let work = async move {
            let now = now_micros();
            let tx = app.store.write_tx().await?;
            let place = find(&tx, &by, &group, &design).await?;
            crate::store::accounts::lock(&tx, by.account_id).await?;
            let Some(mut row) = reviews::open_own_sums(&tx, place.design.id, by.account_id).await? else {
                let what = format!("you have no sums of your own on `{}`", place.design.name);
                return Err(AppError::WrongState { what, reason: "NO_OWN_SUMS" });
            };
            let figures = reviews::any_own_figure(&tx, place.design.id, by.account_id, row.begun_at).await?;
            if !figures && reason.trim().is_empty() {
                let message = "none of your own figures is in: put one in, or say why you open the server's";
                return Err(AppError::invalid("reason", message));
            }
            let how = if figures { FIGURES_IN } else { OPENED };
            reviews::end_own_sums(&tx, row.id, how, &reason, now).await?;
            app.store.commit(tx).await?;
            (row.ended_at, row.ended_how, row.reason) = (Some(now), Some(how.to_owned()), reason);
            Ok(OwnSumsView::of(row, by.account))
        };
        self.finish(work).await
    }
}
