//! Reading remarks with their entries.

use super::carry::read;
use super::{Act, RemarkKind, RemarkState, Spot};
use crate::app::access::{self, Place, find};
use crate::app::names::text_faults;
use crate::app::proofs::{self, ProofView};
use crate::app::tags::PlaceKind;
use crate::app::{App, AppError, AppResult};
use crate::auth::Caller;
use crate::store::{self, Connection, remarks, standings};
use battenboard_engine::design::carry::{Standing, What};
use std::collections::BTreeMap;
use std::sync::Arc;
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
    /// As they stand on the revision of this letter, without those made on a later one; empty: the latest.
    pub as_of: String,
    /// Only those whose item has this tag on that revision; empty: all.
    pub tag: String,
}

/// How a remark stands on a revision.
#[derive(Clone, Debug, PartialEq)]
pub struct StandingView {
    /// On which revision, by ordinal.
    pub as_of: i64,
    /// How; numbers of designs are ordinals.
    pub standing: Standing,
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
    /// True where its author was not of the crew.
    pub from_outside: bool,
    /// How it stands.
    pub standing: StandingView,
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
            let found = found.filter(|remark| remark.ordinal >= place.access.from);
            let found = found.ok_or_else(|| AppError::not_found("remark", number.to_string()))?;
            place.refuse_before(found.ordinal)?;
            Ok((place, found))
        }
        Reference::Id(id) => {
            let unknown = || AppError::not_found("remark", id.chars().take(40).collect::<String>());
            let parsed = Uuid::try_parse(id).map_err(|_| unknown())?;
            let remark = remarks::by_id(conn, parsed).await?.ok_or_else(unknown)?;
            // A remark on a design that the caller may not see does not exist, and neither does its group's name.
            let place = access::enter(conn, caller, remark.design_id, remark.ordinal).await?;
            Ok((place.ok_or_else(unknown)?, remark))
        }
    }
}

fn unknown_word(what: &str, word: &str) -> AppError {
    AppError::internal(format!("stored {what} `{word}` is not known"))
}

/// How a remark stands, from its row, if it has one.
/// How a remark stands by its latest row, if it has one.
pub(in crate::app) fn standing_of(remark: &remarks::Remark, row: Option<&standings::Standing>) -> AppResult<Standing> {
    let since = usize::try_from(remark.ordinal).unwrap_or_default();
    match row {
        Some(row) => Ok(read(row)?.standing),
        None => Ok(Standing { tag: remark.place_tag.clone(), at_mm: remark.at_mm, what: What::AsItWas, since }),
    }
}

/// Views of remarks of one design as they stand on the revision of an ordinal, in the order given.
async fn views<C: Connection>(
    conn: &C,
    place: &Place,
    rows: Vec<remarks::Remark>,
    as_of: i64,
) -> AppResult<Vec<RemarkView>> {
    let stand = standings::latest(conn, rows.iter().map(|row| row.id).collect(), as_of).await?;
    let entries = remarks::entries(conn, rows.iter().map(|row| row.id).collect()).await?;
    let people = rows.iter().map(|row| row.author_id).chain(entries.iter().map(|entry| entry.author_id));
    let names = store::accounts::names(conn, people).await?;
    let name = |id: Uuid| names.get(&id).cloned().unwrap_or_default();
    let mut by_remark: BTreeMap<Uuid, Vec<EntryView>> = BTreeMap::new();
    for entry in entries {
        let act = Act::of_word(&entry.act).ok_or_else(|| unknown_word("act", &entry.act))?;
        // What the server says of its own accord tells its figures.
        let by_server = matches!(act, Act::Proved | Act::FellShortAgain);
        let text = if by_server && place.access.withheld { String::new() } else { entry.text };
        let (author, created_at) = (name(entry.author_id), entry.created_at);
        by_remark.entry(entry.remark_id).or_default().push(EntryView { author, created_at, act, text });
    }
    let mut proof_of: BTreeMap<Uuid, ProofView> = BTreeMap::new();
    for load in store::proofs::loads_of(conn, rows.iter().map(|row| row.id).collect()).await? {
        proof_of.insert(load.remark_id, proofs::view(conn, load).await?.seen_by(&place.access));
    }
    let view = |row: remarks::Remark| {
        let standing = StandingView { as_of, standing: standing_of(&row, stand.get(&row.id))? };
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
            from_outside: row.take_up_id.is_some(),
            standing,
            proof: proof_of.remove(&row.id),
        })
    };
    rows.into_iter().map(view).collect()
}

impl App {
    /// One remark with its entries, as it stands on the latest revision.
    ///
    /// # Errors
    /// [`AppError::NotFound`].
    pub async fn get_remark(self: &Arc<Self>, caller: &Caller, reference: &Reference) -> AppResult<RemarkView> {
        let conn = self.store.read();
        let (place, remark) = find_remark(conn, caller, reference).await?;
        let rows = vec![remark];
        self.see_to_standings(place.design.id, place.design.latest_ordinal, &rows).await?;
        let mut views = views(conn, &place, rows, place.design.latest_ordinal).await?;
        views.pop().ok_or_else(|| AppError::internal("a remark has no view"))
    }

    /// Remarks of a design, newest first, with the token of the next page.
    ///
    /// # Errors
    /// [`AppError::NotFound`]; [`AppError::Invalid`] for a page token of another list or a tag that can't be one.
    pub async fn list_remarks(
        self: &Arc<Self>,
        caller: &Caller,
        group: &str,
        design: &str,
        filter: Filter,
        size: i32,
        token: &str,
    ) -> AppResult<(Vec<RemarkView>, String)> {
        let faults = text_faults("tag", &filter.tag, super::place::TAG_BYTES, false);
        if !faults.is_empty() {
            return Err(AppError::Invalid { faults });
        }
        let conn = self.store.read();
        let place = find(conn, caller, group, design).await?;
        let (design_id, latest) = (place.design.id, place.design.latest_ordinal);
        let ordinal = if filter.letter.is_empty() { None } else { Some(place.ordinal(&filter.letter)?) };
        let as_of = place.ordinal(&filter.as_of)?;
        let states: Vec<String> = filter.states.iter().map(|state| state.word().to_owned()).collect();
        let from = place.access.from;
        // What was asked for, and not the latest letter: a page goes on where it began though a submit came between.
        let list = format!(
            "remarks of {design_id} from {from} on {ordinal:?} in {states:?} as of {:?} at {:?}",
            filter.as_of, filter.tag
        );
        let page = self.pages.read(list, size, token)?;
        if !filter.tag.is_empty() && standings::carried_to(conn, design_id).await? < latest {
            // Which remarks stand on a tag is known only once all were carried.
            self.catch_up(design_id).await?;
        }
        let wanted = remarks::Wanted {
            from,
            ordinal,
            states,
            before: page.after_number()?,
            made_by: (as_of < latest).then_some(as_of),
            on: (!filter.tag.is_empty()).then(|| (filter.tag.clone(), as_of)),
        };
        let mut rows = remarks::page(conn, design_id, &wanted, page.limit()).await?;
        let next = self.pages.cut(&page, &mut rows, |row| row.number.to_string());
        self.see_to_standings(design_id, as_of, &rows).await?;
        Ok((views(conn, &place, rows, as_of).await?, next))
    }

    /// Sees to it that these remarks are carried to the revision of an ordinal: an earlier release does not.
    async fn see_to_standings(
        self: &Arc<Self>,
        design_id: Uuid,
        as_of: i64,
        rows: &[remarks::Remark],
    ) -> AppResult<()> {
        let older: Vec<Uuid> = rows.iter().filter(|row| row.ordinal < as_of).map(|row| row.id).collect();
        if older.is_empty() {
            return Ok(());
        }
        let conn = self.store.read();
        let count = older.len();
        if standings::carried_to(conn, design_id).await? < as_of
            || standings::with_origin(conn, older).await?.len() < count
        {
            self.catch_up(design_id).await?;
        }
        Ok(())
    }
}
