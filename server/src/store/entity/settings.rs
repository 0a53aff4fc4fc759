//! Table `settings`.

use sea_orm::entity::prelude::*;

/// Immutable settings, by the hash of their body.
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "settings")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Vec<u8>,
    pub body: Vec<u8>,
    pub created_at: i64,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
