//! Table `requests`.

use sea_orm::entity::prelude::*;

/// The answer once given to a request id.
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "requests")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub scope: Uuid,
    #[sea_orm(primary_key, auto_increment = false)]
    pub request_id: String,
    pub method: String,
    pub digest: Vec<u8>,
    pub answer: Vec<u8>,
    pub created_at: i64,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
