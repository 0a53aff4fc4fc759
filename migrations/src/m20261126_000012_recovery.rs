//! Codes that set a new password: the ten recovery codes of an account, and reset codes that the host prints.

use crate::columns::{bytes, id, index, instant, optional, reference};
use sea_orm_migration::prelude::*;

/// See the file's head.
#[derive(DeriveMigrationName)]
pub struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        // `expires_at` is set for a reset code and for no other. The codes are random, so their hashes are plain ones.
        let recovery_codes = Table::create()
            .table("recovery_codes")
            .col(id("id").primary_key())
            .col(id("account_id"))
            .col(bytes("code_hash"))
            .col(instant("made_at"))
            .col(optional(instant("expires_at")))
            .col(optional(instant("used_at")))
            .foreign_key(&mut reference("recovery_codes", "account_id", "accounts", "id"))
            .to_owned();
        manager.create_table(recovery_codes).await?;
        index(manager, "recovery_codes", &["account_id", "code_hash"], true).await
    }

    fn use_transaction(&self) -> Option<bool> {
        Some(true)
    }
}
