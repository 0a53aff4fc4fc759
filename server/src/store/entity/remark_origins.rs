//! Table `remark_origins`.

use sea_orm::entity::prelude::*;

/// What a remark was made on, as it was then.
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "remark_origins")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub remark_id: Uuid,
    pub body: Vec<u8>,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
