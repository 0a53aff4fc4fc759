//! Saying that one looked at items of a revision, and how.

use super::{LookKind, ReviewView};
use crate::app::access::find;
use crate::app::error::Fault;
use crate::app::names::{nearest, text_faults};
use crate::app::requests::{RequestId, is_repeat};
use crate::app::tags::{PlaceKind, tags};
use crate::app::{App, AppError, AppResult, NOTE_BYTES, content};
use crate::auth::Caller;
use crate::clock::{new_id, now_micros};
use crate::store::{events, reviews};
use battenboard_engine::design::Design;
use std::collections::BTreeSet;
use std::ops::RangeInclusive;
use std::sync::Arc;

/// Items that one call may name.
const MOST_PLACES: usize = 500;
/// Utilisations and sags that somebody may have reckoned.
const UTILISATIONS: RangeInclusive<f64> = 0.0..=1000.0;
const SAGS_MM: RangeInclusive<f64> = 0.0..=10_000.0;

/// A look at items.
#[derive(Clone, Debug)]
pub struct NewLook {
    /// Name of the group.
    pub group: String,
    /// Name of the design.
    pub design: String,
    /// Letter of the revision; empty: the latest.
    pub letter: String,
    /// The items, each kind and tag.
    pub places: Vec<(PlaceKind, String)>,
    /// How.
    pub kind: LookKind,
    /// Greatest utilisation by own sums.
    pub own_utilisation: Option<f64>,
    /// Greatest sag by own sums, mm.
    pub own_sag_mm: Option<f64>,
    /// What is to be said of it.
    pub note: String,
}

impl NewLook {
    fn faults(&self) -> Vec<Fault> {
        let mut faults = text_faults("note", &self.note, NOTE_BYTES, false);
        if self.places.is_empty() {
            faults.push(Fault::of("places", "say what you looked at"));
        }
        if self.places.len() > MOST_PLACES {
            faults.push(Fault::of("places", format!("{} items, at most {MOST_PLACES}", self.places.len())));
        }
        let figures =
            [("own_utilisation", self.own_utilisation, UTILISATIONS), ("own_sag_mm", self.own_sag_mm, SAGS_MM)];
        for (field, figure, range) in figures {
            let Some(figure) = figure else { continue };
            if !range.contains(&figure) {
                let message = format!("{figure} is not between {} and {}", range.start(), range.end());
                faults.push(Fault::of(field, message));
            } else if self.kind != LookKind::OwnSums {
                faults.push(Fault::of(field, "a figure of one's own goes with own sums"));
            } else if self.places.len() != 1 {
                faults.push(Fault::of(field, "a figure of one's own is of one item: name only that one"));
            }
        }
        faults
    }
}

impl App {
    /// Says that the caller looked at items of a revision.
    ///
    /// # Errors
    /// Faults of the look; [`AppError::NotFound`].
    pub async fn mark_looked_at(
        self: &Arc<Self>,
        caller: &Caller,
        new: NewLook,
        request: RequestId,
    ) -> AppResult<ReviewView> {
        let mut faults = new.faults();
        faults.extend(request.faults());
        if !faults.is_empty() {
            return Err(AppError::Invalid { faults });
        }
        let (group, design, letter) = (new.group.clone(), new.design.clone(), new.letter.clone());
        let (app, by, again) = (Arc::clone(self), caller.clone(), request.clone());
        let work = async move { app.write_look(&by, new, &request).await };
        match self.finish(work).await {
            Err(error) if is_repeat(&error) => again.find::<(), _>(self.store.read()).await?.ok_or(error)?,
            other => other?,
        }
        self.get_review(caller, &group, &design, &letter).await
    }

    async fn write_look(&self, caller: &Caller, new: NewLook, request: &RequestId) -> AppResult<()> {
        let conn = self.store.read();
        let place = find(conn, caller, &new.group, &new.design).await?;
        let ordinal = place.ordinal(&new.letter)?;
        let revision = place.revision(conn, ordinal).await?;
        refuse_unknown(&content::read(revision.body_format, &revision.body)?, &new.places)?;

        let now = now_micros();
        let tx = self.store.write_tx().await?;
        if request.find::<(), _>(&tx).await?.is_some() {
            return Ok(());
        }
        let place = find(&tx, caller, &new.group, &new.design).await?;
        let row = |(kind, tag): (PlaceKind, String)| reviews::Look {
            id: new_id(),
            design_id: place.design.id,
            ordinal,
            account_id: caller.account_id,
            place_kind: kind.word().to_owned(),
            place_tag: tag,
            how: new.kind.word().to_owned(),
            own_utilisation: new.own_utilisation,
            own_sag_mm: new.own_sag_mm,
            note: new.note.clone(),
            created_at: now,
        };
        reviews::insert_looks(&tx, new.places.into_iter().map(row).collect()).await?;
        request.keep(&tx, &()).await?;
        let news = events::News {
            kind: "looked_at",
            actor_id: Some(caller.account_id),
            design_id: Some(place.design.id),
            ordinal: Some(ordinal),
            subject_id: None,
        };
        events::append(&tx, place.group.id, news, now).await?;
        Ok(self.store.commit(tx).await?)
    }
}

/// Every item is there, and none stands twice.
fn refuse_unknown(design: &Design, places: &[(PlaceKind, String)]) -> AppResult<()> {
    let kinds = [PlaceKind::Member, PlaceKind::Joint, PlaceKind::Anchor, PlaceKind::Deck];
    let known: Vec<(PlaceKind, Vec<String>)> = kinds.into_iter().map(|kind| (kind, tags(design, kind))).collect();
    let mut seen = BTreeSet::new();
    let mut faults = Vec::new();
    for (at, (kind, tag)) in places.iter().enumerate() {
        let path = format!("places[{at}].tag");
        let row = known.iter().find(|(of, _)| of == kind).map(|(_, tags)| tags.as_slice()).unwrap_or_default();
        if *kind == PlaceKind::Whole {
            faults.push(Fault::of(path, "the whole is concluded on: look at members, joints, anchors and decks"));
        } else if !row.contains(tag) {
            let shown: String = tag.chars().take(40).collect();
            let fault = Fault::of(path, format!("this revision has no {} `{shown}`", kind.word()));
            let near = nearest(tag, row.iter().map(String::as_str)).map(|near| format!("`{near}`"));
            faults.push(near.map_or(fault.clone(), |near| fault.mend(near)));
        } else if !seen.insert((kind.word(), tag.as_str())) {
            faults.push(Fault::of(path, format!("`{tag}` stands twice")));
        }
    }
    if faults.is_empty() { Ok(()) } else { Err(AppError::Invalid { faults }) }
}
