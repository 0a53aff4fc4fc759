//! Second opinions: what each reviewer looked at and how, what he concluded, and whether he keeps the server's figures from
//! himself until his own are in.

use crate::columns::{id, index, instant, number, optional, reference, text, whole};
use sea_orm_migration::prelude::*;

/// See the file's head.
#[derive(DeriveMigrationName)]
pub struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        looks(manager).await?;
        dispositions(manager).await?;
        own_sums(manager).await
    }

    fn use_transaction(&self) -> Option<bool> {
        Some(true)
    }
}

async fn looks(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    // Nothing is rewritten: of two looks of one account at one item the later counts.
    let looks = Table::create()
        .table("looks")
        .col(id("id").primary_key())
        .col(id("design_id"))
        .col(whole("ordinal"))
        .col(id("account_id"))
        .col(text(manager, "place_kind"))
        .col(text(manager, "place_tag"))
        .col(text(manager, "how"))
        .col(optional(number("own_utilisation")))
        .col(optional(number("own_sag_mm")))
        .col(text(manager, "note"))
        .col(instant("created_at"))
        .foreign_key(&mut reference("looks", "design_id", "designs", "id"))
        .foreign_key(&mut reference("looks", "account_id", "accounts", "id"))
        .to_owned();
    manager.create_table(looks).await?;
    index(manager, "looks", &["design_id", "ordinal", "id"], false).await?;
    index(manager, "looks", &["account_id"], false).await
}

async fn dispositions(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    // One row for the whole (empty tag) and one for each member that differs; those of one conclusion share `conclusion_id`
    // and the findings that were seen.
    let dispositions = Table::create()
        .table("dispositions")
        .col(id("id").primary_key())
        .col(id("conclusion_id"))
        .col(id("design_id"))
        .col(whole("ordinal"))
        .col(id("account_id"))
        .col(text(manager, "tag"))
        .col(text(manager, "kind"))
        .col(text(manager, "note"))
        .col(optional(id("take_up_id")))
        .col(text(manager, "engine_fingerprint"))
        .col(instant("created_at"))
        .foreign_key(&mut reference("dispositions", "design_id", "designs", "id"))
        .foreign_key(&mut reference("dispositions", "account_id", "accounts", "id"))
        .to_owned();
    manager.create_table(dispositions).await?;
    index(manager, "dispositions", &["design_id", "ordinal", "id"], false).await?;
    index(manager, "dispositions", &["account_id", "take_up_id"], false).await
}

async fn own_sums(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    // While `ended_at` is null the server keeps its figures of this design from this account.
    let own_sums = Table::create()
        .table("own_sums")
        .col(id("id").primary_key())
        .col(id("design_id"))
        .col(id("account_id"))
        .col(whole("from_ordinal"))
        .col(instant("begun_at"))
        .col(optional(instant("ended_at")))
        .col(optional(text(manager, "ended_how")))
        .col(text(manager, "reason").default(""))
        .foreign_key(&mut reference("own_sums", "design_id", "designs", "id"))
        .foreign_key(&mut reference("own_sums", "account_id", "accounts", "id"))
        .to_owned();
    manager.create_table(own_sums).await?;
    index(manager, "own_sums", &["design_id", "account_id", "id"], false).await?;
    index(manager, "own_sums", &["account_id", "ended_at"], false).await
}
