//! Table `surveys`: numbers of surveys as design files state them. Figures are in `vehicle_surveys`.

use sea_orm::entity::prelude::*;

/// A number that a design file stated for a vehicle.
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
