//! Table `surveys`.

use sea_orm::entity::prelude::*;

/// A numbered survey of a vehicle.
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "surveys")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub vehicle_id: Uuid,
    pub number: i64,
    pub created_at: i64,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
