//! Table `vehicle_surveys`.

use sea_orm::entity::prelude::*;

/// A survey of a vehicle with its figures. Written once, never changed.
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "vehicle_surveys")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub vehicle_id: Uuid,
    pub number: i64,
    pub body: Vec<u8>,
    pub content_id: Vec<u8>,
    pub note: String,
    pub author_id: Uuid,
    pub design_id: Option<Uuid>,
    pub ordinal: Option<i64>,
    pub created_at: i64,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
