//! Table `looks`.

use sea_orm::entity::prelude::*;

/// One reviewer's look at one item of a revision.
#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "looks")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub design_id: Uuid,
    pub ordinal: i64,
    pub account_id: Uuid,
    pub place_kind: String,
    pub place_tag: String,
    pub how: String,
    pub own_utilisation: Option<f64>,
    pub own_sag_mm: Option<f64>,
    pub note: String,
    pub created_at: i64,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
