//! Table `proof_results`.

use sea_orm::entity::prelude::*;

/// What became of a proof load on a revision, or that it is still to be run.
#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "proof_results")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub remark_id: Uuid,
    pub revision_id: Uuid,
    pub ordinal: i64,
    pub engine_fingerprint: String,
    pub settings_id: Vec<u8>,
    pub account_id: Uuid,
    pub state: String,
    pub outcome: Option<String>,
    pub sag_mm: Option<f64>,
    pub utilisation: Option<f64>,
    pub detail: Option<Vec<u8>>,
    pub attempts: i64,
    pub holder: Option<Uuid>,
    pub leased_until: Option<i64>,
    pub created_at: i64,
    pub ended_at: Option<i64>,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
