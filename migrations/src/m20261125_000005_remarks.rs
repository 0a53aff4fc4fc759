//! Remarks and what became of each.

use crate::columns::{id, index, instant, number, optional, reference, text, whole};
use sea_orm_migration::prelude::*;

/// See the file's head.
#[derive(DeriveMigrationName)]
pub struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        remarks(manager).await?;
        entries(manager).await
    }

    fn use_transaction(&self) -> Option<bool> {
        Some(true)
    }
}

async fn remarks(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    // `state` repeats what the entries say, for lists; it changes only in the transaction that writes an entry.
    let remarks = Table::create()
        .table("remarks")
        .col(id("id").primary_key())
        .col(id("design_id"))
        .col(whole("number"))
        .col(id("revision_id"))
        .col(whole("ordinal"))
        .col(text(manager, "place_kind"))
        .col(text(manager, "place_tag"))
        .col(optional(number("at_mm")))
        .col(text(manager, "kind"))
        .col(text(manager, "state"))
        .col(text(manager, "text"))
        .col(id("author_id"))
        .col(whole("entries"))
        .col(instant("created_at"))
        .foreign_key(&mut reference("remarks", "design_id", "designs", "id"))
        .foreign_key(&mut reference("remarks", "revision_id", "revisions", "id"))
        .foreign_key(&mut reference("remarks", "author_id", "accounts", "id"))
        .to_owned();
    manager.create_table(remarks).await?;
    index(manager, "remarks", &["design_id", "number"], true).await?;
    index(manager, "remarks", &["revision_id"], false).await?;
    index(manager, "remarks", &["author_id"], false).await
}

async fn entries(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let entries = Table::create()
        .table("remark_entries")
        .col(id("remark_id"))
        .col(whole("number"))
        .col(text(manager, "act"))
        .col(id("author_id"))
        .col(text(manager, "text"))
        .col(whole("ordinal"))
        .col(instant("created_at"))
        .primary_key(Index::create().name("pk_remark_entries").col("remark_id").col("number"))
        .foreign_key(&mut reference("remark_entries", "remark_id", "remarks", "id"))
        .foreign_key(&mut reference("remark_entries", "author_id", "accounts", "id"))
        .to_owned();
    manager.create_table(entries).await?;
    index(manager, "remark_entries", &["author_id"], false).await
}
