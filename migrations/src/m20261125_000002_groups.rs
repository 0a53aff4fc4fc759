//! Build groups, their crew, invitations, and the numbered streams of what happened.

use crate::columns::{bytes, id, index, instant, optional, reference, text, whole};
use sea_orm_migration::prelude::*;

/// See the file's head.
#[derive(DeriveMigrationName)]
pub struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        groups(manager).await?;
        invitations(manager).await?;
        streams(manager).await
    }

    fn use_transaction(&self) -> Option<bool> {
        Some(true)
    }
}

async fn groups(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let groups = Table::create()
        .table("groups")
        .col(id("id").primary_key())
        .col(text(manager, "name"))
        .col(text(manager, "title"))
        .col(id("created_by"))
        .col(instant("created_at"))
        .foreign_key(&mut reference("groups", "created_by", "accounts", "id"))
        .to_owned();
    manager.create_table(groups).await?;
    index(manager, "groups", &["name"], true).await?;
    index(manager, "groups", &["created_by"], false).await?;
    let crew = Table::create()
        .table("crew")
        .col(id("group_id"))
        .col(id("account_id"))
        .col(text(manager, "role"))
        .col(instant("joined_at"))
        .primary_key(Index::create().name("pk_crew").col("group_id").col("account_id"))
        .foreign_key(&mut reference("crew", "group_id", "groups", "id"))
        .foreign_key(&mut reference("crew", "account_id", "accounts", "id"))
        .to_owned();
    manager.create_table(crew).await?;
    index(manager, "crew", &["account_id", "group_id"], false).await
}

async fn invitations(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    // Without a group the code opens an account only.
    let invitations = Table::create()
        .table("invitations")
        .col(id("id").primary_key())
        .col(bytes("code_hash"))
        .col(optional(id("group_id")))
        .col(optional(text(manager, "role")))
        .col(id("made_by"))
        .col(instant("made_at"))
        .col(instant("expires_at"))
        .col(optional(id("used_by")))
        .col(optional(instant("used_at")))
        .foreign_key(&mut reference("invitations", "group_id", "groups", "id"))
        .foreign_key(&mut reference("invitations", "made_by", "accounts", "id"))
        .foreign_key(&mut reference("invitations", "used_by", "accounts", "id"))
        .to_owned();
    manager.create_table(invitations).await?;
    index(manager, "invitations", &["code_hash"], true).await?;
    index(manager, "invitations", &["group_id", "id"], false).await?;
    index(manager, "invitations", &["made_by"], false).await?;
    index(manager, "invitations", &["used_by"], false).await
}

async fn streams(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    // The number of an event is its stream's head after `UPDATE ... RETURNING`, the last statement of the changing
    // transaction: number order is commit order, without holes.
    let streams = Table::create().table("streams").col(id("id").primary_key()).col(whole("head").default(0)).to_owned();
    manager.create_table(streams).await?;
    // Ids only, no text; what they point at may have been erased since, hence no foreign keys beyond the stream.
    let events = Table::create()
        .table("events")
        .col(id("stream_id"))
        .col(whole("number"))
        .col(text(manager, "kind"))
        .col(optional(id("actor_id")))
        .col(optional(id("design_id")))
        .col(optional(whole("ordinal")))
        .col(optional(id("subject_id")))
        .col(instant("created_at"))
        .primary_key(Index::create().name("pk_events").col("stream_id").col("number"))
        .foreign_key(&mut reference("events", "stream_id", "streams", "id"))
        .to_owned();
    manager.create_table(events).await?;
    index(manager, "events", &["created_at"], false).await
}
