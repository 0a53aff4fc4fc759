//! Table `recovery_codes`.

use sea_orm::entity::prelude::*;

/// A code that sets a new password, by its hash; one with an end is a reset code of the host.
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "recovery_codes")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub account_id: Uuid,
    pub code_hash: Vec<u8>,
    pub made_at: i64,
    pub expires_at: Option<i64>,
    pub used_at: Option<i64>,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
