//! Table `dispositions`.

use sea_orm::entity::prelude::*;

/// What a reviewer concluded on a revision or one of its members.
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "dispositions")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub conclusion_id: Uuid,
    pub design_id: Uuid,
    pub ordinal: i64,
    pub account_id: Uuid,
    pub tag: String,
    pub kind: String,
    pub note: String,
    pub take_up_id: Option<Uuid>,
    pub engine_fingerprint: String,
    pub created_at: i64,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
