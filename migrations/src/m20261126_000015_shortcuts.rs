//! What is told twice so that less is read: what comparisons show of findings, beside their body; the number of a remark,
//! beside its standings.

use crate::columns::{add, bytes, index, optional, whole};
use sea_orm_migration::prelude::*;

/// See the file's head.
#[derive(DeriveMigrationName)]
pub struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        // Rows that are there already keep it unset: comparisons read their body.
        add(manager, "findings", optional(bytes("effects"))).await?;
        numbers(manager).await
    }

    fn use_transaction(&self) -> Option<bool> {
        Some(true)
    }
}

async fn numbers(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let table = "remark_standings";
    add(manager, table, optional(whole("number"))).await?;
    let fill = "UPDATE remark_standings SET number = (SELECT number FROM remarks WHERE remarks.id = remark_id)";
    manager.get_connection().execute_unprepared(fill).await?;
    // For pages by tag: each reads what it shows, in its order. The indexes of before have no further use, and each costs a
    // submit that carries a thousand remarks some milliseconds.
    index(manager, table, &["design_id", "tag", "number"], false).await?;
    for name in ["ix_remark_standings_design_id_tag", "ix_remark_standings_design_id_ordinal"] {
        manager.drop_index(Index::drop().name(name).table(table).to_owned()).await?;
    }
    Ok(())
}
