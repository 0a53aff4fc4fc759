//! Table `checks`.

use sea_orm::entity::prelude::*;

/// A check that is waiting, running or over.
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "checks")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub content_id: Vec<u8>,
    pub settings_id: Vec<u8>,
    pub engine_fingerprint: String,
    pub revision_id: Uuid,
    pub account_id: Uuid,
    pub state: String,
    pub attempts: i64,
    pub holder: Option<Uuid>,
    pub leased_until: Option<i64>,
    pub heartbeat_at: Option<i64>,
    pub failure: Option<String>,
    pub created_at: i64,
    pub ended_at: Option<i64>,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
