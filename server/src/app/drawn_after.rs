//! The revision of another design that a design was started from.

use super::access::{self, Access};
use super::letters::letter;
use super::{AppError, AppResult};
use crate::auth::{Caller, Need};
use crate::store::{Connection, designs, groups};
use std::collections::BTreeMap;
use uuid::Uuid;

/// A revision of a design, as it is named.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct DrawnAfter {
    /// Name of its group.
    pub group: String,
    /// Name of the design.
    pub design: String,
    /// Its letter.
    pub letter: String,
}

/// A revision as the database knows it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Source {
    /// Its design.
    pub design_id: Uuid,
    /// Its ordinal.
    pub ordinal: i64,
}

impl Source {
    /// What a design's row says.
    pub fn of(design: &designs::Design) -> Option<Self> {
        Some(Self { design_id: design.drawn_after_id?, ordinal: design.drawn_after_ordinal? })
    }
}

/// Somebody who reads, whatever he called for.
fn reading(caller: &Caller) -> Caller {
    Caller { need: Need::Read, ..caller.clone() }
}

/// The revision that is named, if the caller may read it.
///
/// # Errors
/// [`AppError::NotFound`]; [`AppError::Invalid`] where no letter is named.
pub async fn named<C: Connection>(conn: &C, caller: &Caller, wanted: &DrawnAfter) -> AppResult<Source> {
    if wanted.letter.is_empty() {
        return Err(AppError::invalid("drawn_after.letter", "say which revision the design was drawn after"));
    }
    let place = access::find(conn, &reading(caller), &wanted.group, &wanted.design).await?;
    Ok(Source { design_id: place.design.id, ordinal: place.ordinal(&wanted.letter)? })
}

/// Refuses a source that is told of a design which is there already, unless it is the one that is known.
///
/// # Errors
/// [`AppError::Invalid`].
pub fn refuse_late(design: &designs::Design, told: Option<Source>) -> AppResult<()> {
    if told.is_none() || told == Source::of(design) {
        return Ok(());
    }
    let message =
        format!("`{}` is there already: only a design's first revision says what it was drawn after", design.name);
    Err(AppError::invalid("drawn_after", message))
}

/// What designs of one group were drawn after, by their ids, as far as the caller may see it. `access` is that to these
/// designs: of his own group the crew see everything.
///
/// # Errors
/// Those of the store.
pub async fn seen<C: Connection>(
    conn: &C,
    caller: &Caller,
    group: &groups::Group,
    access: Access,
    rows: &[designs::Design],
) -> AppResult<BTreeMap<Uuid, DrawnAfter>> {
    let wanted: Vec<(Uuid, Source)> = rows.iter().filter_map(|row| Some((row.id, Source::of(row)?))).collect();
    let ids = wanted.iter().map(|(_, source)| source.design_id).collect();
    let sources: BTreeMap<Uuid, designs::Design> =
        designs::by_ids(conn, ids).await?.into_iter().map(|row| (row.id, row)).collect();
    let reader = reading(caller);
    let mut found = BTreeMap::new();
    for (id, Source { design_id, ordinal }) in wanted {
        let Some(source) = sources.get(&design_id) else { continue };
        let group = if access.is_crew() && source.group_id == group.id {
            group.name.clone()
        } else {
            match access::enter(conn, &reader, design_id, ordinal).await? {
                Some(place) => place.group.name,
                None => continue,
            }
        };
        found.insert(id, DrawnAfter { group, design: source.name.clone(), letter: letter(ordinal) });
    }
    Ok(found)
}
