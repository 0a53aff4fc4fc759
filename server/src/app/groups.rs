//! Build groups, their crew and the invitations into them.

use super::error::Fault;
use super::names::{name_faults, text_faults};
use super::requests::{RequestId, is_repeat};
use super::{App, AppError, AppResult, TITLE_BYTES};
use crate::auth::{Caller, Right, codes};
use crate::clock::{SECOND, new_id, now_micros};
use crate::store::{self, Connection, StoreError, WriteTx, events, groups};
use serde::{Deserialize, Serialize};
use std::net::IpAddr;
use std::sync::Arc;
use std::time::{Duration, Instant};
use uuid::Uuid;

/// How long an invitation's code is good.
const INVITATION_S: i64 = 14 * 24 * 3600;

/// A group as one of its crew sees it.
#[derive(Clone, Debug)]
pub struct GroupView {
    /// Short name.
    pub name: String,
    /// What the crew call it.
    pub title: String,
    /// When it was made.
    pub created_at: i64,
    /// What the caller may do in it.
    pub right: Right,
}

/// One of the crew.
#[derive(Clone, Debug)]
pub struct CrewView {
    /// Account name.
    pub account: String,
    /// What he may do.
    pub right: Right,
    /// When he entered.
    pub joined_at: i64,
}

/// An invitation, the only time its code is shown.
#[derive(Clone, Debug)]
pub struct InvitationView {
    /// One-time code.
    pub code: String,
    /// Right of whoever accepts.
    pub right: Right,
    /// When the code ends.
    pub ends_at: i64,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
struct Kept {
    id: Uuid,
}

/// The group of a name with the caller's right in it, if that is enough for the called method.
///
/// # Errors
/// [`AppError::NotFound`] where the caller is not of its crew: what one may not see does not exist.
pub async fn enter<C: Connection>(conn: &C, caller: &Caller, name: &str) -> AppResult<(groups::Group, Right)> {
    let (group, right) = look_in(conn, caller, name).await?;
    if !caller.may(right) {
        let what = format!("as {} of `{}` you may not do this", right.word(), group.name);
        return Err(AppError::NotAllowed { what });
    }
    Ok((group, right))
}

async fn look_in<C: Connection>(conn: &C, caller: &Caller, name: &str) -> AppResult<(groups::Group, Right)> {
    let unknown = || AppError::not_found("group", name.chars().take(40).collect::<String>());
    let group = look_up(conn, name).await?.ok_or_else(unknown)?;
    let entry = groups::role(conn, group.id, caller.account_id).await?.ok_or_else(unknown)?;
    Ok((group, right_of(&entry.role)?))
}

/// The group of a name, whoever asks.
pub(super) async fn look_up<C: Connection>(conn: &C, name: &str) -> AppResult<Option<groups::Group>> {
    if name.contains('\0') {
        return Ok(None);
    }
    Ok(groups::by_name(conn, name).await?)
}

/// The right of a stored word.
pub(super) fn right_of(word: &str) -> AppResult<Right> {
    Right::of_word(word).ok_or_else(|| AppError::internal(format!("stored right `{word}` is not known")))
}

fn view(group: groups::Group, right: Right) -> GroupView {
    GroupView { name: group.name, title: group.title, created_at: group.created_at, right }
}

impl App {
    /// Makes a group with the caller as its keeper.
    ///
    /// # Errors
    /// A bad name or title; a taken name.
    pub async fn create_group(
        self: &Arc<Self>,
        caller: &Caller,
        name: String,
        title: String,
        request: RequestId,
    ) -> AppResult<GroupView> {
        let mut faults = name_faults("name", &name, 2);
        faults.extend(text_faults("title", &title, TITLE_BYTES, true));
        faults.extend(request.faults());
        if !faults.is_empty() {
            return Err(AppError::Invalid { faults });
        }
        let kept = request.clone();
        let (app, account_id) = (Arc::clone(self), caller.account_id);
        let work = async move {
            let tx = app.store.write_tx().await?;
            if let Some(Kept { id }) = request.find(&tx).await? {
                return Ok(id);
            }
            let id = write_group(&tx, account_id, name, title).await?;
            request.keep(&tx, &Kept { id }).await?;
            let news = events::News { kind: "group", actor_id: Some(account_id), ..events::News::default() };
            events::append(&tx, id, news, now_micros()).await?;
            app.store.commit(tx).await?;
            Ok(id)
        };
        let id = match self.finish(work).await {
            Err(error) if is_repeat(&error) => kept.find::<Kept, _>(self.store.read()).await?.ok_or(error)?.id,
            other => other?,
        };
        self.group_view(caller, id).await
    }

    async fn group_view(&self, caller: &Caller, id: Uuid) -> AppResult<GroupView> {
        let gone = || AppError::not_found("group", "");
        let group = groups::by_id(self.store.read(), id).await?.ok_or_else(gone)?;
        let entry = groups::role(self.store.read(), id, caller.account_id).await?.ok_or_else(gone)?;
        Ok(view(group, right_of(&entry.role)?))
    }

    /// One group.
    ///
    /// # Errors
    /// [`AppError::NotFound`].
    pub async fn get_group(&self, caller: &Caller, name: &str) -> AppResult<GroupView> {
        let (group, right) = enter(self.store.read(), caller, name).await?;
        Ok(view(group, right))
    }

    /// The groups the caller is in, by name, with the token of the next page.
    ///
    /// # Errors
    /// [`AppError::Invalid`] for a page token of another list.
    pub async fn list_groups(&self, caller: &Caller, size: i32, token: &str) -> AppResult<(Vec<GroupView>, String)> {
        let page = self.pages.read(format!("groups of {}", caller.account_id), size, token)?;
        let mut rows = groups::page(self.store.read(), caller.account_id, page.after.as_deref(), page.limit()).await?;
        let next = self.pages.cut(&page, &mut rows, |(group, _)| group.name.clone());
        let views: AppResult<Vec<GroupView>> =
            rows.into_iter().map(|(group, role)| Ok(view(group, right_of(&role)?))).collect();
        Ok((views?, next))
    }

    /// Makes a one-time code that brings one account into the group.
    ///
    /// # Errors
    /// [`AppError::AlreadyThere`] for a repeat: the code cannot be shown again.
    pub async fn create_invitation(
        self: &Arc<Self>,
        caller: &Caller,
        group: String,
        right: Right,
        request: RequestId,
    ) -> AppResult<InvitationView> {
        if !request.faults().is_empty() {
            return Err(AppError::Invalid { faults: request.faults() });
        }
        let (app, caller, id_of_request) = (Arc::clone(self), caller.clone(), request.id.clone());
        let work = async move {
            let now = now_micros();
            let tx = app.store.write_tx().await?;
            let (group, _) = enter(&tx, &caller, &group).await?;
            if request.find::<Kept, _>(&tx).await?.is_some() {
                return Err(AppError::AlreadyThere { what: "invitation of request", name: request.id });
            }
            let code = codes::one_time_code()?;
            let invitation = store::invitations::Invitation {
                id: new_id(),
                code_hash: codes::code_hash(&code),
                group_id: Some(group.id),
                role: Some(right.word().to_owned()),
                made_by: caller.account_id,
                made_at: now,
                expires_at: now + INVITATION_S * SECOND,
                used_by: None,
                used_at: None,
            };
            let (id, ends_at) = (invitation.id, invitation.expires_at);
            store::invitations::insert(&tx, invitation).await?;
            request.keep(&tx, &Kept { id }).await?;
            app.store.commit(tx).await?;
            Ok(InvitationView { code, right, ends_at })
        };
        self.finish(work).await.map_err(|error| match error {
            error if is_repeat(&error) => AppError::AlreadyThere { what: "invitation of request", name: id_of_request },
            other => other,
        })
    }

    /// Enters a group with an invitation's code. Who is in it already keeps his right, and the code stays unused.
    ///
    /// # Errors
    /// [`AppError::NotFound`] for a code that is not good.
    pub async fn accept_invitation(
        self: &Arc<Self>,
        caller: &Caller,
        code: String,
        address: IpAddr,
    ) -> AppResult<GroupView> {
        let wait = self.throttle.wait(&caller.account, address, Instant::now());
        if wait > Duration::ZERO {
            return Err(AppError::TooMany { what: "too many codes were tried", retry_after: wait });
        }
        let (app, account_id) = (Arc::clone(self), caller.account_id);
        let work = async move {
            let now = now_micros();
            let unknown =
                || AppError::not_found("open invitation with code", code.chars().take(40).collect::<String>());
            let tx = app.store.write_tx().await?;
            let found = store::invitations::open_for_update(&tx, &codes::code_hash(&code), now).await?;
            let invitation = found.ok_or_else(unknown)?;
            let group_id = invitation.group_id.ok_or_else(unknown)?;
            if groups::role(&tx, group_id, account_id).await?.is_some() {
                return Ok(group_id);
            }
            let role = invitation.role.ok_or_else(unknown)?;
            store::invitations::mark_used(&tx, invitation.id, account_id, now).await?;
            groups::insert_crew(&tx, groups::Crew { group_id, account_id, role, joined_at: now }).await?;
            append_crew_news(&tx, group_id, account_id, account_id, now).await?;
            app.store.commit(tx).await?;
            Ok(group_id)
        };
        let entered = self.finish(work).await;
        if matches!(entered, Err(AppError::NotFound { .. })) {
            self.throttle.failed(&caller.account, address, Instant::now());
        }
        self.group_view(caller, entered?).await
    }

    /// The crew of a group by account name, with the token of the next page.
    ///
    /// # Errors
    /// [`AppError::NotFound`]; [`AppError::Invalid`] for a page token of another list.
    pub async fn list_crew(
        &self,
        caller: &Caller,
        group: &str,
        size: i32,
        token: &str,
    ) -> AppResult<(Vec<CrewView>, String)> {
        let (group, _) = enter(self.store.read(), caller, group).await?;
        let page = self.pages.read(format!("crew of {}", group.id), size, token)?;
        let mut rows = groups::crew_page(self.store.read(), group.id, page.after.as_deref(), page.limit()).await?;
        let next = self.pages.cut(&page, &mut rows, |(_, name)| name.clone());
        let views: AppResult<Vec<CrewView>> = rows
            .into_iter()
            .map(|(entry, account)| Ok(CrewView { account, right: right_of(&entry.role)?, joined_at: entry.joined_at }))
            .collect();
        Ok((views?, next))
    }

    /// Gives one of the crew another right.
    ///
    /// # Errors
    /// [`AppError::NotFound`]; [`AppError::WrongState`] where no keeper would be left.
    pub async fn update_crew_right(
        self: &Arc<Self>,
        caller: &Caller,
        group: String,
        account: String,
        right: Right,
    ) -> AppResult<CrewView> {
        let (app, caller) = (Arc::clone(self), caller.clone());
        let work = async move {
            let tx = app.store.write_tx().await?;
            let (group, _) = enter(&tx, &caller, &group).await?;
            groups::lock(&tx, group.id).await?;
            let entry = crew_entry(&tx, &group, &account).await?;
            let view = CrewView { account, right, joined_at: entry.joined_at };
            if entry.role == right.word() {
                return Ok(view);
            }
            refuse_without_keeper(&tx, &group, &entry).await?;
            groups::set_role(&tx, group.id, entry.account_id, right.word()).await?;
            append_crew_news(&tx, group.id, caller.account_id, entry.account_id, now_micros()).await?;
            app.store.commit(tx).await?;
            Ok(view)
        };
        self.finish(work).await
    }

    /// Takes an account out of the crew: keepers anyone, each himself.
    ///
    /// # Errors
    /// [`AppError::NotFound`]; [`AppError::NotAllowed`]; [`AppError::WrongState`] where no keeper would be left.
    pub async fn remove_crew(self: &Arc<Self>, caller: &Caller, group: String, account: String) -> AppResult<()> {
        let (app, caller) = (Arc::clone(self), caller.clone());
        let work = async move {
            let tx = app.store.write_tx().await?;
            let (group, right) = enter(&tx, &caller, &group).await?;
            if account != caller.account && right < Right::Keeper {
                let what = format!("only a keeper of `{}` takes others out of it", group.name);
                return Err(AppError::NotAllowed { what });
            }
            groups::lock(&tx, group.id).await?;
            let entry = crew_entry(&tx, &group, &account).await?;
            refuse_without_keeper(&tx, &group, &entry).await?;
            groups::remove_crew(&tx, group.id, entry.account_id).await?;
            append_crew_news(&tx, group.id, caller.account_id, entry.account_id, now_micros()).await?;
            Ok(app.store.commit(tx).await?)
        };
        self.finish(work).await
    }
}

async fn write_group(tx: &WriteTx, account_id: Uuid, name: String, title: String) -> AppResult<Uuid> {
    let now = now_micros();
    let group = groups::Group { id: new_id(), name: name.clone(), title, created_by: account_id, created_at: now };
    let id = group.id;
    groups::insert(tx, group).await.map_err(|error| match error {
        StoreError::Taken { .. } => AppError::AlreadyThere { what: "group", name },
        other => other.into(),
    })?;
    let keeper = groups::Crew { group_id: id, account_id, role: Right::Keeper.word().into(), joined_at: now };
    groups::insert_crew(tx, keeper).await?;
    events::open_stream(tx, id).await?;
    Ok(id)
}

async fn crew_entry(tx: &WriteTx, group: &groups::Group, account: &str) -> AppResult<groups::Crew> {
    let unknown = || AppError::not_found("one of the crew", account.chars().take(40).collect::<String>());
    if account.contains('\0') {
        return Err(AppError::Invalid { faults: vec![Fault::of("account", "there is a NUL character in it")] });
    }
    let (found, _) = store::accounts::by_name(tx, account).await?.ok_or_else(unknown)?;
    groups::role(tx, group.id, found.id).await?.ok_or_else(unknown)
}

/// Refuses to take the last keeper's right away.
async fn refuse_without_keeper(tx: &WriteTx, group: &groups::Group, leaving: &groups::Crew) -> AppResult<()> {
    let keeper = Right::Keeper.word();
    if leaving.role == keeper && groups::count_role(tx, group.id, keeper).await? < 2 {
        let what = format!("`{}` would be left without a keeper: make somebody else keeper first", group.name);
        return Err(AppError::WrongState { what, reason: "LAST_KEEPER" });
    }
    Ok(())
}

async fn append_crew_news(tx: &WriteTx, group_id: Uuid, actor: Uuid, subject: Uuid, now: i64) -> AppResult<()> {
    let news =
        events::News { kind: "crew", actor_id: Some(actor), subject_id: Some(subject), ..events::News::default() };
    events::append(tx, group_id, news, now).await?;
    Ok(())
}
