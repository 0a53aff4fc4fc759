//! What the engine said, and the checks that are still to be made.

use crate::columns::{bytes, id, index, instant, number, optional, reference, text, whole};
use sea_orm_migration::prelude::*;

/// See the file's head.
#[derive(DeriveMigrationName)]
pub struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        findings(manager).await?;
        checks(manager).await
    }

    fn use_transaction(&self) -> Option<bool> {
        Some(true)
    }
}

async fn findings(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    // `verdict` and the three after it repeat what the body says, for lists that do not read bodies.
    let findings = Table::create()
        .table("findings")
        .col(bytes("content_id"))
        .col(bytes("settings_id"))
        .col(text(manager, "engine_fingerprint"))
        .col(text(manager, "verdict"))
        .col(number("total_mass_kg"))
        .col(optional(number("worst_utilisation")))
        .col(text(manager, "worst_tag"))
        .col(bytes("body"))
        .col(instant("created_at"))
        .primary_key(Index::create().name("pk_findings").col("content_id").col("settings_id").col("engine_fingerprint"))
        .foreign_key(&mut reference("findings", "settings_id", "settings", "id"))
        .to_owned();
    manager.create_table(findings).await?;
    index(manager, "findings", &["settings_id"], false).await
}

async fn checks(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    // One row a findings key, however many revisions wait for it. `revision_id` is the first that asked: its body is
    // what gets checked. `account_id` is whose turn it is in the round.
    let checks = Table::create()
        .table("checks")
        .col(id("id").primary_key())
        .col(bytes("content_id"))
        .col(bytes("settings_id"))
        .col(text(manager, "engine_fingerprint"))
        .col(id("revision_id"))
        .col(id("account_id"))
        .col(text(manager, "state"))
        .col(whole("attempts").default(0))
        .col(optional(id("holder")))
        .col(optional(instant("leased_until")))
        .col(optional(instant("heartbeat_at")))
        .col(optional(text(manager, "failure")))
        .col(instant("created_at"))
        .col(optional(instant("ended_at")))
        .foreign_key(&mut reference("checks", "settings_id", "settings", "id"))
        .foreign_key(&mut reference("checks", "revision_id", "revisions", "id"))
        .foreign_key(&mut reference("checks", "account_id", "accounts", "id"))
        .to_owned();
    manager.create_table(checks).await?;
    index(manager, "checks", &["content_id", "settings_id", "engine_fingerprint"], true).await?;
    index(manager, "checks", &["settings_id"], false).await?;
    index(manager, "checks", &["revision_id"], false).await?;
    index(manager, "checks", &["account_id"], false).await?;
    index(manager, "checks", &["state", "id"], false).await
}
