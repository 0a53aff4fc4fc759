//! How remarks stand on later revisions: only the changes of it, what each was made on, and how far a design's remarks
//! were carried.

use crate::columns::{bytes, id, index, number, optional, reference, text, whole};
use sea_orm_migration::prelude::*;

/// See the file's head.
#[derive(DeriveMigrationName)]
pub struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        standings(manager).await?;
        origins(manager).await?;
        carried(manager).await?;
        // For pages of a design's remarks by letter, by state and by tag: each reads what it shows.
        index(manager, "remarks", &["design_id", "ordinal", "number"], false).await?;
        index(manager, "remarks", &["design_id", "state", "number"], false).await?;
        index(manager, "remarks", &["design_id", "place_tag", "number"], false).await
    }

    fn use_transaction(&self) -> Option<bool> {
        Some(true)
    }
}

async fn standings(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let standings = Table::create()
        .table("remark_standings")
        .col(id("remark_id"))
        .col(whole("ordinal"))
        .col(id("design_id"))
        .col(text(manager, "what"))
        .col(text(manager, "tag"))
        .col(optional(number("at_mm")))
        .col(bytes("detail"))
        .primary_key(Index::create().name("pk_remark_standings").col("remark_id").col("ordinal"))
        .foreign_key(&mut reference("remark_standings", "remark_id", "remarks", "id"))
        .foreign_key(&mut reference("remark_standings", "design_id", "designs", "id"))
        .to_owned();
    manager.create_table(standings).await?;
    index(manager, "remark_standings", &["design_id", "ordinal"], false).await?;
    index(manager, "remark_standings", &["design_id", "tag"], false).await
}

async fn origins(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let origins = Table::create()
        .table("remark_origins")
        .col(id("remark_id").primary_key())
        .col(bytes("body"))
        .foreign_key(&mut reference("remark_origins", "remark_id", "remarks", "id"))
        .to_owned();
    manager.create_table(origins).await
}

async fn carried(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    // No row, or a lower ordinal than the design's latest: a release that carries nothing wrote the rest.
    let carried = Table::create()
        .table("carried_designs")
        .col(id("design_id").primary_key())
        .col(whole("ordinal"))
        .foreign_key(&mut reference("carried_designs", "design_id", "designs", "id"))
        .to_owned();
    manager.create_table(carried).await
}
