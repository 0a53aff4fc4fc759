//! Table `revisions`.

use sea_orm::entity::prelude::*;

/// An immutable revision.
#[derive(Clone, Debug, PartialEq, Eq, DeriveEntityModel)]
#[sea_orm(table_name = "revisions")]
pub struct Model {
    #[sea_orm(primary_key, auto_increment = false)]
    pub id: Uuid,
    pub design_id: Uuid,
    pub ordinal: i64,
    pub body_format: i64,
    pub body: Vec<u8>,
    pub text_as_written: Option<Vec<u8>>,
    pub content_id: Vec<u8>,
    pub author_id: Uuid,
    pub note: String,
    pub worked_from: Option<i64>,
    pub survey_id: Uuid,
    pub settings_id: Vec<u8>,
    pub engine_fingerprint: String,
    pub created_at: i64,
    pub vehicle_survey_id: Option<Uuid>,
}

/// Joins are written out where they are needed.
#[derive(Copy, Clone, Debug, EnumIter, DeriveRelation)]
pub enum Relation {}

impl ActiveModelBehavior for ActiveModel {}
