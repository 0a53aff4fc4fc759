//! Table `refresh_tokens`.

use sea_orm::entity::prelude::*;

/// A refresh token, by its hash.
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "refresh_tokens")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub hash: Vec<u8>,
    pub session_id: Uuid,
    pub issued_at: i64,
    pub expires_at: i64,
    pub used_at: Option<i64>,
    pub siblings: i64,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
