//! Table `remark_entries`.

use sea_orm::entity::prelude::*;

/// One thing said or done about a remark.
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "remark_entries")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub remark_id: Uuid,
    #[sea_orm(primary_key, auto_increment = false)]
    pub number: i64,
    pub act: String,
    pub author_id: Uuid,
    pub text: String,
    pub ordinal: i64,
    pub created_at: i64,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
