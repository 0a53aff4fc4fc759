//! Vehicles with their surveys, settings, designs and their revisions.

use crate::columns::{bytes, id, index, instant, optional, reference, text, whole};
use sea_orm_migration::prelude::*;

/// See the file's head.
#[derive(DeriveMigrationName)]
pub struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        vehicles(manager).await?;
        settings(manager).await?;
        designs(manager).await?;
        revisions(manager).await
    }

    fn use_transaction(&self) -> Option<bool> {
        Some(true)
    }
}

async fn vehicles(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let vehicles = Table::create()
        .table("vehicles")
        .col(id("id").primary_key())
        .col(id("group_id"))
        .col(text(manager, "name"))
        .col(instant("created_at"))
        .foreign_key(&mut reference("vehicles", "group_id", "groups", "id"))
        .to_owned();
    manager.create_table(vehicles).await?;
    index(manager, "vehicles", &["group_id", "name"], true).await?;
    let surveys = Table::create()
        .table("surveys")
        .col(id("id").primary_key())
        .col(id("vehicle_id"))
        .col(whole("number"))
        .col(instant("created_at"))
        .foreign_key(&mut reference("surveys", "vehicle_id", "vehicles", "id"))
        .to_owned();
    manager.create_table(surveys).await?;
    index(manager, "surveys", &["vehicle_id", "number"], true).await
}

async fn settings(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    // Immutable; the id is the SHA-256 of the body, so equal settings share their findings between groups.
    let settings = Table::create()
        .table("settings")
        .col(bytes("id").primary_key())
        .col(bytes("body"))
        .col(instant("created_at"))
        .to_owned();
    manager.create_table(settings).await
}

async fn designs(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    // `latest_ordinal` and `latest_remark` are taken under this row's lock.
    let designs = Table::create()
        .table("designs")
        .col(id("id").primary_key())
        .col(id("group_id"))
        .col(text(manager, "name"))
        .col(text(manager, "title"))
        .col(whole("latest_ordinal").default(0))
        .col(whole("latest_remark").default(0))
        .col(id("created_by"))
        .col(instant("created_at"))
        .foreign_key(&mut reference("designs", "group_id", "groups", "id"))
        .foreign_key(&mut reference("designs", "created_by", "accounts", "id"))
        .to_owned();
    manager.create_table(designs).await?;
    index(manager, "designs", &["group_id", "name"], true).await?;
    index(manager, "designs", &["created_by"], false).await
}

async fn revisions(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let revisions = Table::create()
        .table("revisions")
        .col(id("id").primary_key())
        .col(id("design_id"))
        .col(whole("ordinal"))
        .col(whole("body_format"))
        .col(bytes("body"))
        .col(optional(bytes("text_as_written")))
        .col(bytes("content_id"))
        .col(id("author_id"))
        .col(text(manager, "note"))
        .col(optional(whole("worked_from")))
        .col(id("survey_id"))
        .col(bytes("settings_id"))
        .col(text(manager, "engine_fingerprint"))
        .col(instant("created_at"))
        .foreign_key(&mut reference("revisions", "design_id", "designs", "id"))
        .foreign_key(&mut reference("revisions", "author_id", "accounts", "id"))
        .foreign_key(&mut reference("revisions", "survey_id", "surveys", "id"))
        .foreign_key(&mut reference("revisions", "settings_id", "settings", "id"))
        .to_owned();
    manager.create_table(revisions).await?;
    index(manager, "revisions", &["design_id", "ordinal"], true).await?;
    index(manager, "revisions", &["author_id"], false).await?;
    index(manager, "revisions", &["survey_id"], false).await?;
    index(manager, "revisions", &["settings_id"], false).await?;
    index(manager, "revisions", &["content_id"], false).await
}
