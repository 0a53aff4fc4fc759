//! Table `events`.

use sea_orm::entity::prelude::*;

/// Something that happened, in ids alone.
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "events")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub stream_id: Uuid,
    #[sea_orm(primary_key, auto_increment = false)]
    pub number: i64,
    pub kind: String,
    pub actor_id: Option<Uuid>,
    pub design_id: Option<Uuid>,
    pub ordinal: Option<i64>,
    pub subject_id: Option<Uuid>,
    pub created_at: i64,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
