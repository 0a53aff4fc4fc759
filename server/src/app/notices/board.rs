//! Reading notices: the noticeboard, a group's own, one.

use super::hang::plain;
use super::{MOST_TAKEN, NoticeState, stored, unknown};
use crate::app::access::Visibility;
use crate::app::{App, AppError, AppResult, access, groups, letters};
use crate::auth::{Caller, Right};
use crate::clock::now_micros;
use crate::store::{self, Connection, designs, notices, take_ups};
use std::collections::BTreeMap;
use uuid::Uuid;

/// How a taking up ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TakeUpEnd {
    /// Handed back.
    HandedBack,
    /// Ended by a keeper.
    ByKeeper,
}

impl TakeUpEnd {
    /// Its word in the database.
    pub fn word(self) -> &'static str {
        match self {
            Self::HandedBack => "handed_back",
            Self::ByKeeper => "by_keeper",
        }
    }

    fn of_word(word: &str) -> Option<Self> {
        [Self::HandedBack, Self::ByKeeper].into_iter().find(|known| known.word() == word)
    }
}

/// Somebody who took a notice up.
#[derive(Clone, Debug)]
pub struct TakeUpView {
    /// Account name.
    pub account: String,
    /// When.
    pub taken_at: i64,
    /// How and when it ended.
    pub end: Option<(TakeUpEnd, i64)>,
    /// Why a keeper ended it.
    pub reason: String,
}

/// A notice as the caller sees it.
#[derive(Clone, Debug)]
pub struct NoticeView {
    /// The row.
    pub notice: notices::Notice,
    /// Names of group and design, where the caller sees the design.
    pub names: Option<(String, String)>,
    /// What a reviewer should know about.
    pub skills: Vec<String>,
    /// Account name of who hung it.
    pub hung_by: String,
    /// Where it stands.
    pub state: NoticeState,
    /// True where the caller has it taken up.
    pub mine: bool,
    /// Who took it up, for those who may know.
    pub take_ups: Vec<TakeUpView>,
}

/// Which notices of the board are wanted; empty: all.
#[derive(Clone, Debug, Default)]
pub struct Wanted {
    /// For this vehicle.
    pub vehicle: String,
    /// For this kind of frame.
    pub frame_kind: String,
    /// That ask for this skill.
    pub skill: String,
    /// Hung at this instant or later.
    pub hung_from: Option<i64>,
    /// Hung before this instant.
    pub hung_before: Option<i64>,
}

/// A notice that the caller sees.
pub(super) struct Seen {
    pub(super) notice: notices::Notice,
}

fn cursor(notice: &notices::Notice) -> String {
    format!("{} {}", notice.hung_at, notice.id)
}

fn of_cursor(text: &str) -> Option<(i64, Uuid)> {
    let (at, id) = text.split_once(' ')?;
    Some((at.parse().ok()?, Uuid::try_parse(id).ok()?))
}

fn words(text: &str) -> Option<String> {
    let plain = plain(text);
    (!plain.is_empty()).then_some(plain)
}

impl App {
    /// The right of a caller within a group, if he is of its crew.
    pub(super) async fn right_in<C: Connection>(
        &self,
        conn: &C,
        group_id: Uuid,
        caller: &Caller,
    ) -> AppResult<Option<Right>> {
        access::crew_of(conn, group_id, caller).await
    }

    /// A notice, if the caller may see it: it hangs, he is of its group, or he took it up once.
    pub(super) async fn seen_notice<C: Connection>(
        &self,
        conn: &C,
        caller: &Caller,
        id: &str,
        now: i64,
    ) -> AppResult<Seen> {
        let notice = stored(conn, id).await?;
        if NoticeState::of(&notice, now)? == NoticeState::Hanging
            || self.right_in(conn, notice.group_id, caller).await?.is_some()
            || take_ups::any_on_notice(conn, notice.id, caller.account_id).await?
        {
            return Ok(Seen { notice });
        }
        Err(unknown(id))
    }

    /// One notice.
    ///
    /// # Errors
    /// [`AppError::NotFound`].
    pub async fn get_notice(&self, caller: &Caller, id: &str) -> AppResult<NoticeView> {
        let seen = self.seen_notice(self.store.read(), caller, id, now_micros()).await?;
        let mut views = self.notice_views(caller, vec![seen.notice]).await?;
        views.pop().ok_or_else(|| unknown(id))
    }

    /// The noticeboard, oldest first, with the token of the next page.
    ///
    /// # Errors
    /// [`AppError::Invalid`] for a page token of another list.
    pub async fn list_notices(
        &self,
        caller: &Caller,
        wanted: Wanted,
        size: i32,
        token: &str,
    ) -> AppResult<(Vec<NoticeView>, String)> {
        let Wanted { vehicle, frame_kind, skill, hung_from, hung_before } = wanted;
        let (vehicle, frame_kind, skill) = (words(&vehicle), words(&frame_kind), words(&skill));
        let list = format!("notices {vehicle:?} {frame_kind:?} {skill:?} {hung_from:?} {hung_before:?}");
        let page = self.pages.read(list, size, token)?;
        let after = page.after.as_deref().map(|after| of_cursor(after).ok_or_else(|| AppError::internal("a cursor")));
        let wanted = notices::Wanted { vehicle, frame_kind, skill, hung_from, hung_before, after: after.transpose()? };
        let mut rows = notices::page(self.store.read(), &wanted, now_micros(), page.limit()).await?;
        let next = self.pages.cut(&page, &mut rows, cursor);
        Ok((self.notice_views(caller, rows).await?, next))
    }

    /// A group's own notices, newest first, with the token of the next page.
    ///
    /// # Errors
    /// [`AppError::NotFound`]; [`AppError::Invalid`] for a page token of another list.
    pub async fn list_group_notices(
        &self,
        caller: &Caller,
        group: &str,
        size: i32,
        token: &str,
    ) -> AppResult<(Vec<NoticeView>, String)> {
        let conn = self.store.read();
        let (group, _) = groups::enter(conn, caller, group).await?;
        let page = self.pages.read(format!("notices of {}", group.id), size, token)?;
        let before = page.after.as_deref().map(|after| Uuid::try_parse(after).map_err(AppError::internal));
        let mut rows = notices::page_of_group(conn, group.id, before.transpose()?, page.limit()).await?;
        let next = self.pages.cut(&page, &mut rows, |notice| notice.id.to_string());
        Ok((self.notice_views(caller, rows).await?, next))
    }

    async fn notice_views(&self, caller: &Caller, rows: Vec<notices::Notice>) -> AppResult<Vec<NoticeView>> {
        let (conn, now) = (self.store.read(), now_micros());
        let ids: Vec<Uuid> = rows.iter().map(|row| row.id).collect();
        let mut skills = notices::skills(conn, ids.clone()).await?;
        let taken = take_ups::of_notices(conn, ids).await?;
        let people = rows.iter().map(|row| row.hung_by).chain(taken.iter().map(|row| row.account_id));
        let accounts = store::accounts::names(conn, people).await?;
        let name = |id: Uuid| accounts.get(&id).cloned().unwrap_or_default();
        let mut by_notice: BTreeMap<Uuid, Vec<take_ups::TakeUp>> = BTreeMap::new();
        for row in taken {
            by_notice.entry(row.notice_id).or_default().push(row);
        }
        let places = self.places_of(caller, &rows).await?;
        let view = |notice: notices::Notice| {
            let place = places.get(&notice.design_id);
            let taken = by_notice.remove(&notice.id).unwrap_or_default();
            let took = taken.iter().any(|row| row.account_id == caller.account_id);
            let knows = took || place.is_some_and(|(crew, ..)| *crew);
            let mine = taken.iter().any(|row| row.account_id == caller.account_id && row.ended_at.is_none());
            let shown = taken.into_iter().filter(|_| knows).map(|row| TakeUpView {
                account: name(row.account_id),
                taken_at: row.taken_at,
                end: row.ended_how.as_deref().and_then(TakeUpEnd::of_word).zip(row.ended_at),
                reason: row.reason,
            });
            Ok(NoticeView {
                names: place.map(|(_, group, design)| (group.clone(), design.clone())),
                skills: skills.remove(&notice.id).unwrap_or_default(),
                hung_by: name(notice.hung_by),
                state: NoticeState::of(&notice, now)?,
                mine,
                take_ups: shown.collect(),
                notice,
            })
        };
        rows.into_iter().map(view).collect()
    }

    /// Of the designs of these notices those that the caller sees: whether as one of the crew, and the names of group and
    /// design.
    async fn places_of(
        &self,
        caller: &Caller,
        rows: &[notices::Notice],
    ) -> AppResult<BTreeMap<Uuid, (bool, String, String)>> {
        let conn = self.store.read();
        let designs = designs::by_ids(conn, rows.iter().map(|row| row.design_id).collect()).await?;
        let groups = store::groups::by_ids(conn, designs.iter().map(|design| design.group_id).collect()).await?;
        let group_ids = groups.iter().map(|group| group.id).collect();
        let crew = store::groups::entered_of(conn, caller.account_id, group_ids).await?;
        let taken = take_ups::open_of_account(conn, caller.account_id, MOST_TAKEN).await?;
        let now = now_micros();
        let hangs = |design: Uuid| {
            let his = |row: &&notices::Notice| row.design_id == design;
            rows.iter()
                .filter(his)
                .any(|row| NoticeState::of(row, now).is_ok_and(|state| state == NoticeState::Hanging))
        };
        let mut places = BTreeMap::new();
        for design in designs {
            let Some(group) = groups.iter().find(|group| group.id == design.group_id) else { continue };
            let is_crew = crew.contains(&group.id);
            let seen = match Visibility::of_word(&design.visibility) {
                Visibility::Open => true,
                Visibility::Noticeboard => hangs(design.id),
                Visibility::Group => false,
            };
            if is_crew || seen || taken.iter().any(|row| row.design_id == design.id) {
                places.insert(design.id, (is_crew, group.name.clone(), design.name));
            }
        }
        Ok(places)
    }
}

impl NoticeView {
    /// Letter of the revision it is about.
    pub fn letter(&self) -> String {
        letters::letter(self.notice.ordinal)
    }
}
