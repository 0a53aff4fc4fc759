//! Table `cutting_stamps`.

use sea_orm::entity::prelude::*;

/// The word that a revision is the one to cut.
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "cutting_stamps")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub design_id: Uuid,
    pub revision_id: Uuid,
    pub ordinal: i64,
    pub account_id: Uuid,
    pub override_reason: String,
    pub overridden: String,
    pub engine_fingerprint: String,
    pub issued_at: i64,
    pub taken_back_at: Option<i64>,
    pub taken_back_by: Option<Uuid>,
    pub taken_back_reason: String,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
