//! What lists show of a revision besides: its axle loads, and where its design was drawn after.

use crate::columns::{add, id, index, number, optional, text, whole};
use sea_orm_migration::prelude::*;

/// See the file's head.
#[derive(DeriveMigrationName)]
pub struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        axles(manager).await?;
        drawn_after(manager).await
    }

    fn use_transaction(&self) -> Option<bool> {
        Some(true)
    }
}

async fn axles(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    // They repeat what the body says, for lists that do not read bodies. Rows that are there already keep them unset.
    add(manager, "findings", optional(text(manager, "axle_state"))).await?;
    for name in ["front_axle_kg", "rear_axle_kg", "front_limit_kg", "rear_limit_kg"] {
        add(manager, "findings", optional(number(name))).await?;
    }
    Ok(())
}

async fn drawn_after(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let mut source = optional(id("drawn_after_id"));
    // The reference stands in the column itself: SQLite takes none for a table that is there.
    source.extra("REFERENCES designs (id)");
    add(manager, "designs", source).await?;
    add(manager, "designs", optional(whole("drawn_after_ordinal"))).await?;
    index(manager, "designs", &["drawn_after_id"], false).await
}
