//! Table `carried_designs`.

use sea_orm::entity::prelude::*;

/// The revision up to which a design's remarks were carried.
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "carried_designs")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub design_id: Uuid,
    pub ordinal: i64,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
