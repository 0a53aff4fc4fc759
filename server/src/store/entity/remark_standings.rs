//! Table `remark_standings`.

use sea_orm::entity::prelude::*;

/// How a remark stands from a revision on.
#[derive(Clone, Debug, PartialEq, DeriveEntityModel)]
#[sea_orm(table_name = "remark_standings")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub remark_id: Uuid,
    #[sea_orm(primary_key, auto_increment = false)]
    pub ordinal: i64,
    pub design_id: Uuid,
    pub what: String,
    pub tag: String,
    pub at_mm: Option<f64>,
    pub detail: Vec<u8>,
    /// The remark's, for pages by tag in the order of numbers; unset in rows of an earlier release.
    pub number: Option<i64>,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
