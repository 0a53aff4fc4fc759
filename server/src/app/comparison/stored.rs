//! Comparing two stored revisions.

use super::{Comparison, Effects, compare};
use crate::app::access::{Place, find};
use crate::app::designs::key_of;
use crate::app::{App, AppError, AppResult, content};
use crate::auth::Caller;
use crate::store::Connection;
use crate::store::findings::{self, Key};
use battenboard_engine::design::Design;

/// Two revisions of a design compared.
#[derive(Clone, Debug)]
pub struct Compared {
    /// Name of the group.
    pub group: String,
    /// Name of the design.
    pub design: String,
    /// Ordinal before.
    pub from: i64,
    /// Ordinal afterwards.
    pub to: i64,
    /// What changed.
    pub comparison: Comparison,
}

/// One side of a comparison: the design as the caller may see it, and its effects once they are there.
async fn side<C: Connection>(conn: &C, place: &Place, ordinal: i64) -> AppResult<(Design, Option<Effects>)> {
    let revision = place.revision(conn, ordinal).await?;
    let mut design = content::read(revision.body_format, &revision.body)?;
    place.access.cut_vehicle(&mut design.vehicle);
    if place.access.withheld {
        return Ok((design, None));
    }
    Ok((design, effects(conn, &key_of(&(&revision).into())).await?))
}

/// The effects of the findings under a key. Findings of an older release have none stored: their body tells them.
async fn effects<C: Connection>(conn: &C, key: &Key) -> AppResult<Option<Effects>> {
    match findings::effects(conn, key).await? {
        None => Ok(None),
        Some(Some(stored)) => Ok(Some(Effects::read(&stored)?)),
        Some(None) => {
            let body = findings::body(conn, key).await?;
            body.as_deref().map(Effects::read_body).transpose()
        }
    }
}

impl App {
    /// What changed from one revision to another.
    ///
    /// # Errors
    /// [`AppError::NotFound`].
    pub async fn compare_revisions(
        &self,
        caller: &Caller,
        group: &str,
        design: &str,
        from: &str,
        to: &str,
    ) -> AppResult<Compared> {
        let conn = self.store.read();
        let place = find(conn, caller, group, design).await?;
        if from.is_empty() {
            return Err(AppError::invalid("from_letter", "say from which revision"));
        }
        let (from, to) = (place.ordinal(from)?, place.ordinal(to)?);
        let (before, after) = tokio::try_join!(side(conn, &place, from), side(conn, &place, to))?;
        let comparison = compare((&before.0, before.1.as_ref()), (&after.0, after.1.as_ref()));
        let comparison = if place.access.withheld { comparison.without_figures() } else { comparison };
        let Place { group, design, .. } = place;
        Ok(Compared { group: group.name, design: design.name, from, to, comparison })
    }
}
