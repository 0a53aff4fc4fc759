//! Findings by their key. Written once, never changed.

use super::entity::findings;
use super::{Connection, StoreResult};
use sea_orm::sea_query::OnConflict;
use sea_orm::{ColumnTrait, Condition, EntityTrait, FromQueryResult, QueryFilter, QuerySelect};

pub use findings::Model as Row;

/// What findings depend on.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Key {
    /// SHA-256 of the design's canonical text.
    pub content_id: Vec<u8>,
    /// SHA-256 of the settings' body.
    pub settings_id: Vec<u8>,
    /// Hash of the engine's sources and tables.
    pub engine_fingerprint: String,
}

/// What lists show of findings.
#[derive(Clone, Debug, PartialEq, FromQueryResult)]
pub struct Summary {
    pub content_id: Vec<u8>,
    pub settings_id: Vec<u8>,
    pub engine_fingerprint: String,
    pub verdict: String,
    pub total_mass_kg: f64,
    pub worst_utilisation: Option<f64>,
    pub worst_tag: String,
    pub axle_state: Option<String>,
    pub front_axle_kg: Option<f64>,
    pub rear_axle_kg: Option<f64>,
    pub front_limit_kg: Option<f64>,
    pub rear_limit_kg: Option<f64>,
}

impl Summary {
    /// The key it belongs to.
    pub fn key(&self) -> Key {
        Key {
            content_id: self.content_id.clone(),
            settings_id: self.settings_id.clone(),
            engine_fingerprint: self.engine_fingerprint.clone(),
        }
    }
}

/// Writes findings unless some are there under this key: the same key is not computed twice, and if it was, both say
/// the same.
pub async fn insert_if_new<C: Connection>(conn: &C, row: Row) -> StoreResult<()> {
    let key = [findings::Column::ContentId, findings::Column::SettingsId, findings::Column::EngineFingerprint];
    let conflict = OnConflict::columns(key).do_nothing().to_owned();
    findings::Entity::insert(findings::ActiveModel::from(row))
        .on_conflict(conflict)
        .exec_without_returning(conn)
        .await?;
    Ok(())
}

/// The body of the findings under a key.
pub async fn body<C: Connection>(conn: &C, key: &Key) -> StoreResult<Option<Vec<u8>>> {
    let Key { content_id, settings_id, engine_fingerprint } = key.clone();
    let query = findings::Entity::find_by_id((content_id, settings_id, engine_fingerprint));
    Ok(query.select_only().column(findings::Column::Body).into_tuple().one(conn).await?)
}

/// What comparisons show of the findings under a key; `Some(None)` where an older release wrote them without.
pub async fn effects<C: Connection>(conn: &C, key: &Key) -> StoreResult<Option<Option<Vec<u8>>>> {
    let Key { content_id, settings_id, engine_fingerprint } = key.clone();
    let query = findings::Entity::find_by_id((content_id, settings_id, engine_fingerprint));
    Ok(query.select_only().column(findings::Column::Effects).into_tuple().one(conn).await?)
}

/// What lists show of the findings under these keys; in no order.
pub async fn summaries<C: Connection>(conn: &C, keys: &[Key]) -> StoreResult<Vec<Summary>> {
    use findings::Column as F;
    if keys.is_empty() {
        return Ok(Vec::new());
    }
    let any = keys.iter().fold(Condition::any(), |any, key| {
        any.add(
            Condition::all()
                .add(F::ContentId.eq(key.content_id.clone()))
                .add(F::SettingsId.eq(key.settings_id.clone()))
                .add(F::EngineFingerprint.eq(key.engine_fingerprint.clone())),
        )
    });
    let query = findings::Entity::find().select_only().columns([
        F::ContentId,
        F::SettingsId,
        F::EngineFingerprint,
        F::Verdict,
        F::TotalMassKg,
        F::WorstUtilisation,
        F::WorstTag,
        F::AxleState,
        F::FrontAxleKg,
        F::RearAxleKg,
        F::FrontLimitKg,
        F::RearLimitKg,
    ]);
    Ok(query.filter(any).into_model::<Summary>().all(conn).await?)
}
