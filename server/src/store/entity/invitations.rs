//! Table `invitations`.

use sea_orm::entity::prelude::*;

/// A one-time code, by its hash.
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "invitations")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub code_hash: Vec<u8>,
    pub group_id: Option<Uuid>,
    pub role: Option<String>,
    pub made_by: Uuid,
    pub made_at: i64,
    pub expires_at: i64,
    pub used_by: Option<Uuid>,
    pub used_at: Option<i64>,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
