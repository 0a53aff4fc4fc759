//! Surveys of vehicles with their figures, and which of them a revision names. The table `surveys` stays what it was: the
//! numbers that design files state.

use crate::columns::{add, bytes, id, index, instant, optional, reference, text, whole};
use sea_orm_migration::prelude::*;

/// See the file's head.
#[derive(DeriveMigrationName)]
pub struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        surveys(manager).await?;
        // Taken under the vehicle's row lock; 0: only named in design files, never surveyed.
        let latest = Table::alter().table("vehicles").add_column(whole("latest_survey").default(0)).to_owned();
        manager.alter_table(latest).await?;
        // Null: it names none. Written with the column, as SQLite adds no reference to a table that is there.
        let mut named = optional(id("vehicle_survey_id"));
        named.extra("REFERENCES vehicle_surveys (id)");
        add(manager, "revisions", named).await?;
        index(manager, "revisions", &["vehicle_survey_id"], false).await
    }

    fn use_transaction(&self) -> Option<bool> {
        Some(true)
    }
}

async fn surveys(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    // `design_id` and `ordinal` say with which revision it came, if with one.
    let surveys = Table::create()
        .table("vehicle_surveys")
        .col(id("id").primary_key())
        .col(id("vehicle_id"))
        .col(whole("number"))
        .col(bytes("body"))
        .col(bytes("content_id"))
        .col(text(manager, "note"))
        .col(id("author_id"))
        .col(optional(id("design_id")))
        .col(optional(whole("ordinal")))
        .col(instant("created_at"))
        .foreign_key(&mut reference("vehicle_surveys", "vehicle_id", "vehicles", "id"))
        .foreign_key(&mut reference("vehicle_surveys", "author_id", "accounts", "id"))
        .foreign_key(&mut reference("vehicle_surveys", "design_id", "designs", "id"))
        .to_owned();
    manager.create_table(surveys).await?;
    index(manager, "vehicle_surveys", &["vehicle_id", "number"], true).await?;
    index(manager, "vehicle_surveys", &["vehicle_id", "content_id"], false).await?;
    index(manager, "vehicle_surveys", &["author_id"], false).await?;
    index(manager, "vehicle_surveys", &["design_id"], false).await
}
