//! Table `proof_loads`.

use sea_orm::entity::prelude::*;

/// The proof load that a remark carries.
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "proof_loads")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub remark_id: Uuid,
    pub design_id: Uuid,
    pub body: Vec<u8>,
    pub live: i64,
    pub created_at: i64,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
