//! Table `findings`.

use sea_orm::entity::prelude::*;

/// What the engine said under one key.
#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "findings")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub content_id: Vec<u8>,
    #[sea_orm(primary_key, auto_increment = false)]
    pub settings_id: Vec<u8>,
    #[sea_orm(primary_key, auto_increment = false)]
    pub engine_fingerprint: String,
    pub verdict: String,
    pub total_mass_kg: f64,
    pub worst_utilisation: Option<f64>,
    pub worst_tag: String,
    pub body: Vec<u8>,
    pub created_at: i64,
    pub axle_state: Option<String>,
    pub front_axle_kg: Option<f64>,
    pub rear_axle_kg: Option<f64>,
    pub front_limit_kg: Option<f64>,
    pub rear_limit_kg: Option<f64>,
    pub effects: Option<Vec<u8>>,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
