//! Table `take_ups`.

use sea_orm::entity::prelude::*;

/// Somebody who looks at a design because of a notice.
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "take_ups")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub notice_id: Uuid,
    pub design_id: Uuid,
    pub account_id: Uuid,
    pub from_ordinal: i64,
    pub taken_at: i64,
    pub ended_at: Option<i64>,
    pub ended_how: Option<String>,
    pub reason: String,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
