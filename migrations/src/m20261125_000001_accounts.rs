//! Who may come in: accounts, password hashes, sessions, refresh tokens, and answers kept for repeated requests.

use crate::columns::{bytes, id, index, instant, optional, reference, text, whole};
use sea_orm_migration::prelude::*;

/// See the file's head.
#[derive(DeriveMigrationName)]
pub struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        accounts(manager).await?;
        sessions(manager).await?;
        requests(manager).await
    }

    fn use_transaction(&self) -> Option<bool> {
        Some(true)
    }
}

async fn accounts(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let accounts = Table::create()
        .table("accounts")
        .col(id("id").primary_key())
        .col(text(manager, "name"))
        .col(instant("created_at"))
        .col(optional(instant("suspended_at")))
        .to_owned();
    manager.create_table(accounts).await?;
    index(manager, "accounts", &["name"], true).await?;
    let passwords = Table::create()
        .table("passwords")
        .col(id("account_id").primary_key())
        .col(text(manager, "hash"))
        .col(instant("changed_at"))
        .foreign_key(&mut reference("passwords", "account_id", "accounts", "id"))
        .to_owned();
    manager.create_table(passwords).await
}

async fn sessions(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    let sessions = Table::create()
        .table("sessions")
        .col(id("id").primary_key())
        .col(id("account_id"))
        .col(text(manager, "label"))
        .col(instant("created_at"))
        .col(instant("refreshed_at"))
        .col(optional(instant("ended_at")))
        .col(optional(text(manager, "end_reason")))
        .foreign_key(&mut reference("sessions", "account_id", "accounts", "id"))
        .to_owned();
    manager.create_table(sessions).await?;
    index(manager, "sessions", &["account_id", "id"], false).await?;
    // A session is the family of its refresh tokens: ending it ends them all.
    let refresh_tokens = Table::create()
        .table("refresh_tokens")
        .col(bytes("hash").primary_key())
        .col(id("session_id"))
        .col(instant("issued_at"))
        .col(instant("expires_at"))
        .col(optional(instant("used_at")))
        .col(whole("siblings").default(0))
        .foreign_key(&mut reference("refresh_tokens", "session_id", "sessions", "id"))
        .to_owned();
    manager.create_table(refresh_tokens).await?;
    index(manager, "refresh_tokens", &["session_id"], false).await
}

async fn requests(manager: &SchemaManager<'_>) -> Result<(), DbErr> {
    // `scope` is the account's id, or a fixed id for callers without one, hence no foreign key.
    let requests = Table::create()
        .table("requests")
        .col(id("scope"))
        .col(text(manager, "request_id"))
        .col(text(manager, "method"))
        .col(bytes("digest"))
        .col(bytes("answer"))
        .col(instant("created_at"))
        .primary_key(Index::create().name("pk_requests").col("scope").col("request_id"))
        .to_owned();
    manager.create_table(requests).await?;
    index(manager, "requests", &["created_at"], false).await
}
