//! From opinion to saw: revisions issued for cutting, concessions, and what was built.

use crate::columns::{bytes, id, index, instant, number, optional, reference, text, whole};
use sea_orm_migration::prelude::*;

/// See the file's head.
#[derive(DeriveMigrationName)]
pub struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        stamps(manager).await?;
        concessions(manager).await?;
        as_builts(manager).await
    }

    fn use_transaction(&self) -> Option<bool> {
        Some(true)
    }
}

async fn stamps(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    // `overridden` is what stood in the way, a line each; the findings that were seen are pinned by the fingerprint.
    let stamps = Table::create()
        .table("cutting_stamps")
        .col(id("id").primary_key())
        .col(id("design_id"))
        .col(id("revision_id"))
        .col(whole("ordinal"))
        .col(id("account_id"))
        .col(text(manager, "override_reason"))
        .col(text(manager, "overridden"))
        .col(text(manager, "engine_fingerprint"))
        .col(instant("issued_at"))
        .col(optional(instant("taken_back_at")))
        .col(optional(id("taken_back_by")))
        .col(text(manager, "taken_back_reason").default(""))
        .foreign_key(&mut reference("cutting_stamps", "design_id", "designs", "id"))
        .foreign_key(&mut reference("cutting_stamps", "revision_id", "revisions", "id"))
        .foreign_key(&mut reference("cutting_stamps", "account_id", "accounts", "id"))
        .to_owned();
    manager.create_table(stamps).await?;
    index(manager, "cutting_stamps", &["design_id", "ordinal", "id"], false).await?;
    index(manager, "cutting_stamps", &["revision_id"], false).await?;
    index(manager, "cutting_stamps", &["account_id"], false).await?;
    index(manager, "cutting_stamps", &["taken_back_at", "id"], false).await
}

async fn concessions(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let concessions = Table::create()
        .table("concessions")
        .col(id("id").primary_key())
        .col(id("design_id"))
        .col(whole("ordinal"))
        .col(text(manager, "tag"))
        .col(text(manager, "check_kind"))
        .col(number("utilisation"))
        .col(text(manager, "engine_fingerprint"))
        .col(text(manager, "reason"))
        .col(id("account_id"))
        .col(instant("created_at"))
        .foreign_key(&mut reference("concessions", "design_id", "designs", "id"))
        .foreign_key(&mut reference("concessions", "account_id", "accounts", "id"))
        .to_owned();
    manager.create_table(concessions).await?;
    index(manager, "concessions", &["design_id", "ordinal", "id"], false).await?;
    index(manager, "concessions", &["account_id"], false).await
}

async fn as_builts(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let as_builts = Table::create()
        .table("as_builts")
        .col(id("id").primary_key())
        .col(id("design_id"))
        .col(id("revision_id"))
        .col(whole("ordinal"))
        .col(id("account_id"))
        .col(text(manager, "note"))
        .col(bytes("body"))
        .col(instant("created_at"))
        .foreign_key(&mut reference("as_builts", "design_id", "designs", "id"))
        .foreign_key(&mut reference("as_builts", "revision_id", "revisions", "id"))
        .foreign_key(&mut reference("as_builts", "account_id", "accounts", "id"))
        .to_owned();
    manager.create_table(as_builts).await?;
    index(manager, "as_builts", &["design_id", "ordinal", "id"], false).await?;
    index(manager, "as_builts", &["revision_id"], false).await?;
    index(manager, "as_builts", &["account_id"], false).await
}
