//! Reading remarks with their entries.

use super::{Act, RemarkKind, RemarkState, Spot};
use crate::app::designs::{Place, find};
use crate::app::proofs::{self, ProofView};
use crate::app::tags::PlaceKind;
use crate::app::{App, AppError, AppResult, groups};
use crate::auth::Caller;
use crate::store::{self, Connection, designs, remarks};
use std::collections::BTreeMap;
use uuid::Uuid;

/// Says which remark is meant.
#[derive(Clone, Debug)]
pub enum Reference {
    /// By id.
    Id(String),
    /// By number within a design.
    Number {
        /// Name of the group.
        group: String,
        /// Name of the design.
        design: String,
        /// From 1.
        number: i64,
    },
}

/// Which remarks of a design are wanted.
#[derive(Clone, Debug, Default)]
pub struct Filter {
    /// Only those made on the revision of this letter; empty: all.
    pub letter: String,
    /// Only those in one of these states; empty: all.
    pub states: Vec<RemarkState>,
}

/// One act on a remark.
#[derive(Clone, Debug)]
pub struct EntryView {
    /// Account name of who did it.
    pub author: String,
    /// When.
    pub created_at: i64,
    /// What was done.
    pub act: Act,
    /// What was said.
    pub text: String,
}

/// A remark with what became of it.
#[derive(Clone, Debug)]
pub struct RemarkView {
    /// Its id.
    pub id: Uuid,
    /// Within the design, from 1.
    pub number: i64,
    /// Name of the group.
    pub group: String,
    /// Name of the design.
    pub design: String,
    /// Of the revision it was made on.
    pub ordinal: i64,
    /// Where.
    pub spot: Spot,
    /// What it is.
    pub kind: RemarkKind,
    /// What it says.
    pub text: String,
    /// Account name of who made it.
    pub author: String,
    /// When.
    pub created_at: i64,
    /// Where it stands.
    pub state: RemarkState,
    /// What happened since, oldest first.
    pub entries: Vec<EntryView>,
    /// The proof load it carries, with its latest results.
    pub proof: Option<ProofView>,
}

/// The remark that is meant, with its place, if the caller may see it and do to it what he called for.
///
/// # Errors
/// [`AppError::NotFound`], [`AppError::NotAllowed`].
pub(super) async fn find_remark<C: Connection>(
    conn: &C,
    caller: &Caller,
    reference: &Reference,
) -> AppResult<(Place, remarks::Remark)> {
    match reference {
        Reference::Number { group, design, number } => {
            let place = find(conn, caller, group, design).await?;
            let found = remarks::by_number(conn, place.design.id, *number).await?;
            Ok((place, found.ok_or_else(|| AppError::not_found("remark", number.to_string()))?))
        }
        Reference::Id(id) => {
            let unknown = || AppError::not_found("remark", id.chars().take(40).collect::<String>());
            let parsed = Uuid::try_parse(id).map_err(|_| unknown())?;
            let remark = remarks::by_id(conn, parsed).await?.ok_or_else(unknown)?;
            let design = designs::by_id(conn, remark.design_id).await?.ok_or_else(unknown)?;
            let group = store::groups::by_id(conn, design.group_id).await?.ok_or_else(unknown)?;
            // A remark in a group that the caller may not see does not exist, and neither does its group's name.
            let entered = groups::enter(conn, caller, &group.name).await.map_err(|error| match error {
                AppError::NotFound { .. } => unknown(),
                other => other,
            });
            entered?;
            Ok((Place { group, design }, remark))
        }
    }
}

fn unknown_word(what: &str, word: &str) -> AppError {
    AppError::internal(format!("stored {what} `{word}` is not known"))
}

/// Views of remarks of one design, in the order given.
async fn views<C: Connection>(conn: &C, place: &Place, rows: Vec<remarks::Remark>) -> AppResult<Vec<RemarkView>> {
    let entries = remarks::entries(conn, rows.iter().map(|row| row.id).collect()).await?;
    let people = rows.iter().map(|row| row.author_id).chain(entries.iter().map(|entry| entry.author_id));
    let names = store::accounts::names(conn, people).await?;
    let name = |id: Uuid| names.get(&id).cloned().unwrap_or_default();
    let mut by_remark: BTreeMap<Uuid, Vec<EntryView>> = BTreeMap::new();
    for entry in entries {
        let act = Act::of_word(&entry.act).ok_or_else(|| unknown_word("act", &entry.act))?;
        let (author, created_at, text) = (name(entry.author_id), entry.created_at, entry.text);
        by_remark.entry(entry.remark_id).or_default().push(EntryView { author, created_at, act, text });
    }
    let mut proof_of: BTreeMap<Uuid, ProofView> = BTreeMap::new();
    for load in store::proofs::loads_of(conn, rows.iter().map(|row| row.id).collect()).await? {
        proof_of.insert(load.remark_id, proofs::view(conn, load).await?);
    }
    let view = |row: remarks::Remark| {
        let place_kind = PlaceKind::of_word(&row.place_kind).ok_or_else(|| unknown_word("place", &row.place_kind))?;
        Ok(RemarkView {
            id: row.id,
            number: row.number,
            group: place.group.name.clone(),
            design: place.design.name.clone(),
            ordinal: row.ordinal,
            spot: Spot { kind: place_kind, tag: row.place_tag, at_mm: row.at_mm },
            kind: RemarkKind::of_word(&row.kind).ok_or_else(|| unknown_word("kind", &row.kind))?,
            text: row.text,
            author: name(row.author_id),
            created_at: row.created_at,
            state: RemarkState::of_word(&row.state).ok_or_else(|| unknown_word("state", &row.state))?,
            entries: by_remark.remove(&row.id).unwrap_or_default(),
            proof: proof_of.remove(&row.id),
        })
    };
    rows.into_iter().map(view).collect()
}

impl App {
    /// One remark with its entries.
    ///
    /// # Errors
    /// [`AppError::NotFound`].
    pub async fn get_remark(&self, caller: &Caller, reference: &Reference) -> AppResult<RemarkView> {
        let conn = self.store.read();
        let (place, remark) = find_remark(conn, caller, reference).await?;
        views(conn, &place, vec![remark]).await?.pop().ok_or_else(|| AppError::internal("a remark has no view"))
    }

    /// Remarks of a design, newest first, with the token of the next page.
    ///
    /// # Errors
    /// [`AppError::NotFound`]; [`AppError::Invalid`] for a page token of another list.
    pub async fn list_remarks(
        &self,
        caller: &Caller,
        group: &str,
        design: &str,
        filter: Filter,
        size: i32,
        token: &str,
    ) -> AppResult<(Vec<RemarkView>, String)> {
        let conn = self.store.read();
        let place = find(conn, caller, group, design).await?;
        let ordinal = if filter.letter.is_empty() { None } else { Some(place.ordinal(&filter.letter)?) };
        let states: Vec<String> = filter.states.iter().map(|state| state.word().to_owned()).collect();
        let list = format!("remarks of {} on {ordinal:?} in {states:?}", place.design.id);
        let page = self.pages.read(list, size, token)?;
        let wanted = remarks::Wanted { ordinal, states, before: page.after_number()? };
        let mut rows = remarks::page(conn, place.design.id, &wanted, page.limit()).await?;
        let next = self.pages.cut(&page, &mut rows, |row| row.number.to_string());
        Ok((views(conn, &place, rows).await?, next))
    }
}
