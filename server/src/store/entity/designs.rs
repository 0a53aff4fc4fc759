//! Table `designs`.

use sea_orm::entity::prelude::*;

/// A design and its two counters.
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "designs")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub group_id: Uuid,
    pub name: String,
    pub title: String,
    pub latest_ordinal: i64,
    pub latest_remark: i64,
    pub created_by: Uuid,
    pub created_at: i64,
    pub visibility: String,
    pub drawn_after_id: Option<Uuid>,
    pub drawn_after_ordinal: Option<i64>,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
