//! Notices: a wish for a second opinion, hung on the noticeboard, taken up, handed back.

mod board;
mod hang;
mod record;
mod take;

pub use board::{NoticeView, TakeUpEnd, TakeUpView, Wanted};
pub use hang::NewNotice;
pub use record::RecordView;

use super::error::{AppError, AppResult};
use crate::auth::codes;
use crate::store::{Connection, notices};
use uuid::Uuid;

/// Letters of a notice's code.
const CODE_LETTERS: usize = 6;
/// Notices of one group that may hang at a time.
const MOST_HANGING: i64 = 5;
/// Notices that one account may have taken up at a time.
const MOST_TAKEN: u64 = 10;

/// Where a notice stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoticeState {
    /// Hangs for all to take up.
    Hanging,
    /// Its day is over.
    RunOut,
    /// Taken down by its group.
    TakenDown,
}

impl NoticeState {
    /// Its word in the database.
    pub fn word(self) -> &'static str {
        match self {
            Self::Hanging => notices::HANGING,
            Self::RunOut => "run_out",
            Self::TakenDown => "taken_down",
        }
    }

    /// Where a stored notice stands at an instant: its day may be over before anybody wrote it down.
    fn of(notice: &notices::Notice, now: i64) -> AppResult<Self> {
        let known = [Self::Hanging, Self::RunOut, Self::TakenDown].into_iter();
        match known.into_iter().find(|state| state.word() == notice.state) {
            Some(Self::Hanging) if notice.ends_at <= now => Ok(Self::RunOut),
            Some(state) => Ok(state),
            None => Err(AppError::internal(format!("stored notice state `{}` is not known", notice.state))),
        }
    }
}

fn unknown(id: &str) -> AppError {
    AppError::not_found("notice", id.chars().take(40).collect::<String>())
}

async fn stored<C: Connection>(conn: &C, id: &str) -> AppResult<notices::Notice> {
    let found = match Uuid::try_parse(id) {
        Ok(id) => notices::by_id(conn, id).await?,
        Err(_) if id.contains('\0') || id.len() > CODE_LETTERS => None,
        Err(_) => notices::by_code(conn, &id.to_lowercase()).await?,
    };
    found.ok_or_else(|| unknown(id))
}

/// A code that no notice has yet.
async fn free_code<C: Connection>(conn: &C) -> AppResult<String> {
    loop {
        let code: String = codes::one_time_code()?.chars().filter(|c| *c != '-').take(CODE_LETTERS).collect();
        if notices::by_code(conn, &code).await?.is_none() {
            return Ok(code);
        }
    }
}
