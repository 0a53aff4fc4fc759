//! Table `as_builts`.

use sea_orm::entity::prelude::*;

/// What was built and measured of a revision.
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "as_builts")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub design_id: Uuid,
    pub revision_id: Uuid,
    pub ordinal: i64,
    pub account_id: Uuid,
    pub note: String,
    pub body: Vec<u8>,
    pub created_at: i64,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
