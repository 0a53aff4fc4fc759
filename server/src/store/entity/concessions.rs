//! Table `concessions`.

use sea_orm::entity::prelude::*;

/// A finding accepted as it is, for one revision.
#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "concessions")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub design_id: Uuid,
    pub ordinal: i64,
    pub tag: String,
    pub check_kind: String,
    pub utilisation: f64,
    pub engine_fingerprint: String,
    pub reason: String,
    pub account_id: Uuid,
    pub created_at: i64,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
