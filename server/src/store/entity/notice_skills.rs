//! Table `notice_skills`.

use sea_orm::entity::prelude::*;

/// What a reviewer of a notice should know about.
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "notice_skills")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub notice_id: Uuid,
    #[sea_orm(primary_key, auto_increment = false)]
    pub skill: String,
    pub hung_at: i64,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
