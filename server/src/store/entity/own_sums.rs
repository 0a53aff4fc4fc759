//! Table `own_sums`.

use sea_orm::entity::prelude::*;

/// A reviewer who keeps the server's figures from himself.
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "own_sums")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub design_id: Uuid,
    pub account_id: Uuid,
    pub from_ordinal: i64,
    pub begun_at: i64,
    pub ended_at: Option<i64>,
    pub ended_how: Option<String>,
    pub reason: String,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
