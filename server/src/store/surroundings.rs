//! What the store does when its surroundings change: other releases, vanished and locked databases.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at the first surprise")]

use super::contract::account;
use super::*;
use crate::testing::{TestDatabase, on_both};
use sea_orm::ConnectionTrait as _;

#[test]
fn migrating_twice_changes_nothing_and_the_embedded_one_is_copied_before_it_changes() {
    on_both("migrating_twice", |database| async move {
        let store = database.store().await;
        account(&store, "ines").await;
        assert!(store.migrate().await.unwrap().is_empty());
        store.make_ready().await.unwrap();
        assert!(accounts::by_name(store.read(), "ines").await.unwrap().is_some());
        store.close().await;
    });
}

#[test]
fn a_postgresql_database_that_nobody_migrated_is_refused() {
    on_both("unmigrated", |database| async move {
        let store = database.bare().await;
        let ready = store.make_ready().await;
        match *database {
            TestDatabase::Embedded { .. } => assert!(ready.is_ok(), "{ready:?}"),
            TestDatabase::Postgres { .. } => assert!(matches!(ready, Err(StoreError::NotMigrated { .. })), "{ready:?}"),
        }
        store.close().await;
    });
}

#[test]
fn every_reference_has_an_index() {
    let database = TestDatabase::embedded();
    crate::testing::block_on(async {
        let store = database.store().await;
        let query = "SELECT m.name AS t, f.\"from\" AS c FROM sqlite_master m JOIN pragma_foreign_key_list(m.name) f \
                     WHERE m.type = 'table' AND NOT EXISTS (SELECT 1 FROM pragma_index_list(m.name) l \
                     JOIN pragma_index_info(l.name) i WHERE i.seqno = 0 AND i.name = f.\"from\") \
                     AND NOT EXISTS (SELECT 1 FROM pragma_table_info(m.name) p WHERE p.name = f.\"from\" AND p.pk = 1)";
        let rows = store.read().query_all_raw(sea_orm::Statement::from_string(sea_orm::DbBackend::Sqlite, query)).await;
        let bare: Vec<String> = rows
            .unwrap()
            .iter()
            .map(|row| {
                format!("{}.{}", row.try_get::<String>("", "t").unwrap(), row.try_get::<String>("", "c").unwrap())
            })
            .collect();
        assert!(bare.is_empty(), "no index on {bare:?}");
        store.close().await;
    });
}

#[test]
fn a_database_file_that_has_gone_is_told_and_comes_back_by_itself() {
    let database = TestDatabase::embedded();
    crate::testing::block_on(async {
        let store = database.store().await;
        account(&store, "ines").await;
        let file = database.file();
        let aside = file.with_extension("aside");
        std::fs::rename(&file, &aside).unwrap();
        assert!(matches!(store.write_tx().await, Err(StoreError::Unavailable { .. })));
        let read = accounts::any(store.read()).await;
        assert!(matches!(read, Err(StoreError::Unavailable { .. })), "{read:?}");
        assert!(!file.exists(), "no empty database was made in its place");
        std::fs::rename(&aside, &file).unwrap();
        assert!(accounts::by_name(store.read(), "ines").await.unwrap().is_some());
        account(&store, "okoro").await;
        store.close().await;
    });
}

#[test]
fn a_database_that_another_program_holds_is_told_after_a_while() {
    let database = TestDatabase::embedded();
    crate::testing::block_on(async {
        let store = database.store().await;
        let other = database.bare().await;
        let held = other.write_tx().await.unwrap();
        assert!(matches!(store.write_tx().await, Err(StoreError::Unavailable { .. })));
        assert!(!accounts::any(store.read()).await.unwrap(), "reading goes on");
        drop(held);
        account(&store, "ines").await;
        store.close().await;
        other.close().await;
    });
}
