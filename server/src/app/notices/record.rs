//! What somebody has done as a reviewer for other groups: plain counts, no score.

use crate::app::{App, AppError, AppResult};
use crate::auth::Caller;
use crate::store::{self, records};

/// A reviewer's plain record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RecordView {
    /// Account name.
    pub account: String,
    /// The counts.
    pub counts: records::Counts,
}

impl App {
    /// The record of an account.
    ///
    /// # Errors
    /// [`AppError::NotFound`] for an unknown account.
    pub async fn get_reviewer_record(&self, _caller: &Caller, account: String) -> AppResult<RecordView> {
        let unknown = || AppError::not_found("account", account.chars().take(40).collect::<String>());
        if account.contains('\0') {
            return Err(unknown());
        }
        let conn = self.store.read();
        let (found, _) = store::accounts::by_name(conn, &account).await?.ok_or_else(unknown)?;
        Ok(RecordView { account: found.name, counts: records::of_account(conn, found.id).await? })
    }
}
