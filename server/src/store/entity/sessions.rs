//! Table `sessions`.

use sea_orm::entity::prelude::*;

/// A session: the family of its refresh tokens.
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "sessions")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub account_id: Uuid,
    pub label: String,
    pub created_at: i64,
    pub refreshed_at: i64,
    pub ended_at: Option<i64>,
    pub end_reason: Option<String>,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
