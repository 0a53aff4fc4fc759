//! Table `notices`.

use sea_orm::entity::prelude::*;

/// A wish for a second opinion on a revision.
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "notices")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub code: String,
    pub group_id: Uuid,
    pub design_id: Uuid,
    pub ordinal: i64,
    pub worry: String,
    pub vehicle: String,
    pub frame_kind: String,
    pub state: String,
    pub most_takers: i64,
    pub takers: i64,
    pub hung_by: Uuid,
    pub hung_at: i64,
    pub ends_at: i64,
    pub ended_at: Option<i64>,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
