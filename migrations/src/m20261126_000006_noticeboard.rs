//! The noticeboard's own stream of events; its id is the nil uuid, which no group ever has.

use sea_orm_migration::prelude::*;
use sea_orm_migration::sea_orm::{ConnectionTrait, DbBackend};

/// See the file's head.
#[derive(DeriveMigrationName)]
pub struct Migration;

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        // Written out: on SQLite a uuid is its 16 bytes.
        let nil = match manager.get_database_backend() {
            DbBackend::Sqlite => "X'00000000000000000000000000000000'",
            _ => "'00000000-0000-0000-0000-000000000000'",
        };
        let insert = format!("INSERT INTO streams (id, head) VALUES ({nil}, 0)");
        manager.get_connection().execute_unprepared(&insert).await.map(|_| ())
    }

    fn use_transaction(&self) -> Option<bool> {
        Some(true)
    }
}
