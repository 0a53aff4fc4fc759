//! Proof loads of remarks, and their results: one row a revision, engine and settings.

use crate::columns::{bytes, id, index, instant, number, optional, reference, text, whole};
use sea_orm_migration::prelude::*;

/// See the file's head.
#[derive(DeriveMigrationName)]
pub struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        loads(manager).await?;
        results(manager).await
    }

    fn use_transaction(&self) -> Option<bool> {
        Some(true)
    }
}

async fn loads(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    // `live` is 0 once the remark's author has cleared it: then no later revision is asked, until it is raised again. It
    // changes only in the transaction that writes that entry.
    let loads = Table::create()
        .table("proof_loads")
        .col(id("remark_id").primary_key())
        .col(id("design_id"))
        .col(bytes("body"))
        .col(whole("live"))
        .col(instant("created_at"))
        .foreign_key(&mut reference("proof_loads", "remark_id", "remarks", "id"))
        .foreign_key(&mut reference("proof_loads", "design_id", "designs", "id"))
        .to_owned();
    manager.create_table(loads).await?;
    index(manager, "proof_loads", &["design_id", "live"], false).await
}

async fn results(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    // `outcome`, `sag_mm` and `utilisation` repeat what the detail says, for lists. `account_id` is whose turn it is in
    // the round. All queued rows of one revision are run at once.
    let results = Table::create()
        .table("proof_results")
        .col(id("id").primary_key())
        .col(id("remark_id"))
        .col(id("revision_id"))
        .col(whole("ordinal"))
        .col(text(manager, "engine_fingerprint"))
        .col(bytes("settings_id"))
        .col(id("account_id"))
        .col(text(manager, "state"))
        .col(optional(text(manager, "outcome")))
        .col(optional(number("sag_mm")))
        .col(optional(number("utilisation")))
        .col(optional(bytes("detail")))
        .col(whole("attempts").default(0))
        .col(optional(id("holder")))
        .col(optional(instant("leased_until")))
        .col(instant("created_at"))
        .col(optional(instant("ended_at")))
        .foreign_key(&mut reference("proof_results", "remark_id", "proof_loads", "remark_id"))
        .foreign_key(&mut reference("proof_results", "revision_id", "revisions", "id"))
        .foreign_key(&mut reference("proof_results", "settings_id", "settings", "id"))
        .foreign_key(&mut reference("proof_results", "account_id", "accounts", "id"))
        .to_owned();
    manager.create_table(results).await?;
    let key = ["remark_id", "revision_id", "engine_fingerprint", "settings_id"];
    index(manager, "proof_results", &key, true).await?;
    index(manager, "proof_results", &["remark_id", "ordinal", "id"], false).await?;
    index(manager, "proof_results", &["revision_id"], false).await?;
    index(manager, "proof_results", &["settings_id"], false).await?;
    index(manager, "proof_results", &["account_id"], false).await?;
    index(manager, "proof_results", &["state", "id"], false).await
}
