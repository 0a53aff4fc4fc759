//! Where the review of a revision stands.

use super::{Disposition, LookKind, MemberDisposition, OwnSumsView};
use crate::app::access::{Place, find};
use crate::app::tags::{PlaceKind, tags};
use crate::app::{App, AppError, AppResult, content, designs, engine};
use crate::auth::Caller;
use crate::store::{self, remarks, reviews, revisions};
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// Looks, dispositions and own sums that are read for one review; of more, the latest.
const MOST_ROWS: u64 = 20_000;
const MOST_OWN_SUMS: u64 = 200;

/// One reviewer's look at one item.
#[derive(Clone, Debug)]
pub struct LookView {
    /// Account name.
    pub account: String,
    /// How.
    pub kind: LookKind,
    /// Of the revision.
    pub ordinal: i64,
    /// When.
    pub created_at: i64,
    /// Greatest utilisation by his own sums.
    pub own_utilisation: Option<f64>,
    /// Greatest sag by his own sums, mm.
    pub own_sag_mm: Option<f64>,
    /// What he says of it.
    pub note: String,
    /// Greatest utilisation by the server, beside his own.
    pub server_utilisation: Option<f64>,
}

/// An item with its looks.
#[derive(Clone, Debug)]
pub struct ItemView {
    /// What it is.
    pub kind: PlaceKind,
    /// Its tag.
    pub tag: String,
    /// The latest look of each reviewer on this revision.
    pub looks: Vec<LookView>,
    /// The latest earlier revision on which somebody looked at it.
    pub looked_before: Option<i64>,
}

/// What one reviewer concluded.
#[derive(Clone, Debug)]
pub struct ConclusionView {
    /// Account name.
    pub account: String,
    /// Of the revision.
    pub ordinal: i64,
    /// When.
    pub created_at: i64,
    /// Of the whole.
    pub disposition: Disposition,
    /// What he says of it.
    pub note: String,
    /// Of members, where it differs.
    pub members: Vec<MemberDisposition>,
    /// True where he is not of the crew.
    pub from_outside: bool,
    /// True where he has concluded on this revision again.
    pub superseded: bool,
}

/// Where the review of a revision stands.
#[derive(Clone, Debug)]
pub struct ReviewView {
    /// The revision.
    pub ordinal: i64,
    /// Newest first.
    pub conclusions: Vec<ConclusionView>,
    /// Items with a look, in the order of the design.
    pub looked_at: Vec<ItemView>,
    /// Items without.
    pub nobody: Vec<ItemView>,
    /// Newest first.
    pub own_sums: Vec<OwnSumsView>,
    /// Snags that are open or answered.
    pub open_snags: i64,
    /// Other remarks that are open.
    pub open_others: i64,
    /// True where the server keeps its figures from the caller.
    pub withheld: bool,
}

type Item = (PlaceKind, String);

impl App {
    /// Where the review of a revision stands.
    ///
    /// # Errors
    /// [`AppError::NotFound`].
    pub async fn get_review(&self, caller: &Caller, group: &str, design: &str, letter: &str) -> AppResult<ReviewView> {
        let conn = self.store.read();
        let place = find(conn, caller, group, design).await?;
        let ordinal = place.ordinal(letter)?;
        let revision = place.revision(conn, ordinal).await?;
        let (design_id, from) = (place.design.id, place.access.from);
        let items = items_of(&revision)?;
        let looks = reviews::looks(conn, design_id, from, ordinal, MOST_ROWS).await?;
        let rows = reviews::dispositions(conn, design_id, vec![ordinal], MOST_ROWS).await?;
        let own_sums = reviews::own_sums(conn, design_id, MOST_OWN_SUMS).await?;
        let people = looks.iter().map(|row| row.account_id).chain(rows.iter().map(|row| row.account_id));
        let names = store::accounts::names(conn, people.chain(own_sums.iter().map(|row| row.account_id))).await?;
        let name = |id: Uuid| names.get(&id).cloned().unwrap_or_default();
        let server = self.utilisations(&place, &revision, &looks).await?;
        let his = |row: &reviews::Look| !place.access.withheld || row.account_id == caller.account_id;
        let views = item_views(items, looks, ordinal, &server, &name, &his)?;
        let (looked_at, nobody) = views.into_iter().partition(|item| !item.looks.is_empty());
        Ok(ReviewView {
            ordinal,
            conclusions: conclusions(rows, &name)?,
            looked_at,
            nobody,
            own_sums: own_sums
                .into_iter()
                .map(|row| {
                    let account = name(row.account_id);
                    OwnSumsView::of(row, account)
                })
                .collect(),
            open_snags: remarks::count(conn, design_id, from, true, &["open", "answered"]).await?,
            open_others: remarks::count(conn, design_id, from, false, &["open"]).await?,
            withheld: place.access.withheld,
        })
    }

    /// Greatest utilisation by tag, where somebody has own figures beside which it is shown.
    async fn utilisations(
        &self,
        place: &Place,
        revision: &revisions::Revision,
        looks: &[reviews::Look],
    ) -> AppResult<BTreeMap<String, f64>> {
        let wanted = looks.iter().any(|look| look.ordinal == revision.ordinal && look.own_utilisation.is_some());
        let mut by_tag: BTreeMap<String, f64> = BTreeMap::new();
        if place.access.withheld || !wanted {
            return Ok(by_tag);
        }
        let body = store::findings::body(self.store.read(), &designs::key_of(&revision.into())).await?;
        let findings = body.as_deref().map(engine::read).transpose()?;
        for check in findings.into_iter().flat_map(|findings| findings.checks) {
            let greatest = by_tag.entry(check.tag).or_insert(check.utilisation);
            *greatest = greatest.max(check.utilisation);
        }
        Ok(by_tag)
    }
}

/// Everything of a revision that can be looked at, in the order of the design.
fn items_of(revision: &revisions::Revision) -> AppResult<Vec<Item>> {
    let design = content::read(revision.body_format, &revision.body)?;
    let kinds = [PlaceKind::Member, PlaceKind::Joint, PlaceKind::Anchor, PlaceKind::Deck];
    Ok(kinds.into_iter().flat_map(|kind| tags(&design, kind).into_iter().map(move |tag| (kind, tag))).collect())
}

fn unknown_word(what: &str, word: &str) -> AppError {
    AppError::internal(format!("stored {what} `{word}` is not known"))
}

/// Items with the latest look of each reviewer, and where else they were looked at before.
fn item_views(
    items: Vec<Item>,
    looks: Vec<reviews::Look>,
    ordinal: i64,
    server: &BTreeMap<String, f64>,
    name: &dyn Fn(Uuid) -> String,
    shows_own: &dyn Fn(&reviews::Look) -> bool,
) -> AppResult<Vec<ItemView>> {
    let mut now: BTreeMap<(String, String), BTreeMap<Uuid, LookView>> = BTreeMap::new();
    let mut before: BTreeMap<(String, String), i64> = BTreeMap::new();
    for look in looks {
        let item = (look.place_kind.clone(), look.place_tag.clone());
        if look.ordinal < ordinal {
            before.insert(item, look.ordinal);
            continue;
        }
        let shown = shows_own(&look);
        let view = LookView {
            account: name(look.account_id),
            kind: LookKind::of_word(&look.how).ok_or_else(|| unknown_word("look", &look.how))?,
            ordinal: look.ordinal,
            created_at: look.created_at,
            own_utilisation: look.own_utilisation.filter(|_| shown),
            own_sag_mm: look.own_sag_mm.filter(|_| shown),
            note: look.note,
            server_utilisation: look.own_utilisation.and_then(|_| server.get(&look.place_tag).copied()),
        };
        now.entry(item).or_default().insert(look.account_id, view);
    }
    let view = |(kind, tag): Item| {
        let item = (kind.word().to_owned(), tag);
        let looks = now.remove(&item).unwrap_or_default().into_values().collect();
        ItemView { kind, looks, looked_before: before.get(&item).copied(), tag: item.1 }
    };
    Ok(items.into_iter().map(view).collect())
}

/// Conclusions, newest first; rows come oldest first.
fn conclusions(rows: Vec<reviews::Disposition>, name: &dyn Fn(Uuid) -> String) -> AppResult<Vec<ConclusionView>> {
    let mut views: Vec<(Uuid, Uuid, ConclusionView)> = Vec::new();
    for row in rows {
        let disposition = Disposition::of_word(&row.kind).ok_or_else(|| unknown_word("disposition", &row.kind))?;
        if !row.tag.is_empty() {
            let of = views.iter_mut().find(|(id, ..)| *id == row.conclusion_id);
            if let Some((.., view)) = of {
                view.members.push(MemberDisposition { tag: row.tag, disposition, note: row.note });
            }
            continue;
        }
        let view = ConclusionView {
            account: name(row.account_id),
            ordinal: row.ordinal,
            created_at: row.created_at,
            disposition,
            note: row.note,
            members: Vec::new(),
            from_outside: row.take_up_id.is_some(),
            superseded: false,
        };
        views.push((row.conclusion_id, row.account_id, view));
    }
    let mut later = BTreeSet::new();
    for (_, account, view) in views.iter_mut().rev() {
        view.superseded = !later.insert(*account);
    }
    Ok(views.into_iter().rev().map(|(.., view)| view).collect())
}

/// The latest disposition of each reviewer on a revision's whole and on its members: tag (empty: the whole), account,
/// disposition.
pub(in crate::app) fn latest(rows: &[reviews::Disposition]) -> Vec<&reviews::Disposition> {
    let mut newest: BTreeMap<Uuid, Uuid> = BTreeMap::new();
    for row in rows {
        newest.insert(row.account_id, row.conclusion_id);
    }
    rows.iter().filter(|row| newest.get(&row.account_id) == Some(&row.conclusion_id)).collect()
}
