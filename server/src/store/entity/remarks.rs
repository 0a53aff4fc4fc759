//! Table `remarks`.

use sea_orm::entity::prelude::*;

/// A remark with its present state.
#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "remarks")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub design_id: Uuid,
    pub number: i64,
    pub revision_id: Uuid,
    pub ordinal: i64,
    pub place_kind: String,
    pub place_tag: String,
    pub at_mm: Option<f64>,
    pub kind: String,
    pub state: String,
    pub text: String,
    pub author_id: Uuid,
    pub entries: i64,
    pub created_at: i64,
    pub take_up_id: Option<Uuid>,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
