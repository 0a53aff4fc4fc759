//! Databases of their own for the tests of this crate.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at the first surprise")]

use crate::app::App;
use crate::config::Config;
use crate::store::{Database, Store, execute_for_tests};
use std::future::Future;
use std::io::Write;
use std::path::PathBuf;
use std::sync::Arc;
use uuid::Uuid;

/// Names a PostgreSQL server as somebody who may make databases.
const POSTGRES: &str = "BATTENBOARD_TEST_POSTGRES";
/// Names a file that gets a line for each test that could not be run.
const NOT_RUN: &str = "BATTENBOARD_NOT_RUN";

/// A fresh database, gone when dropped.
#[derive(Debug)]
pub enum TestDatabase {
    /// A file in a folder of its own.
    Embedded { folder: PathBuf },
    /// One of its own on the server; the folder is for keys.
    Postgres { admin: String, name: String, folder: PathBuf },
}

fn fresh_folder() -> PathBuf {
    let folder = std::env::temp_dir().join(format!("battenboard-unit-{}", Uuid::now_v7().simple()));
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

/// Runs a future to its end on a runtime of its own.
pub fn block_on<T>(work: impl Future<Output = T>) -> T {
    tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap().block_on(work)
}

/// Runs a test on SQLite, and on PostgreSQL where there is one; else the test is counted as not run.
pub fn on_both<F: Future<Output = ()>>(name: &str, test: impl Fn(Arc<TestDatabase>) -> F) {
    block_on(test(Arc::new(TestDatabase::embedded())));
    match std::env::var(POSTGRES).ok().filter(|admin| !admin.is_empty()) {
        Some(admin) => {
            let database = Arc::new(TestDatabase::postgres(admin));
            block_on(test(Arc::clone(&database)));
        }
        None => {
            let Some(file) = std::env::var_os(NOT_RUN) else { return };
            let mut file = std::fs::OpenOptions::new().append(true).create(true).open(file).unwrap();
            writeln!(file, "postgres {name}").unwrap();
        }
    }
}

impl TestDatabase {
    /// SQLite in a fresh folder.
    pub fn embedded() -> Self {
        Self::Embedded { folder: fresh_folder() }
    }

    fn postgres(admin: String) -> Self {
        let name = format!("battenboard_unit_{}", Uuid::now_v7().simple());
        block_on(execute(&admin, &format!("CREATE DATABASE {name}")));
        Self::Postgres { admin, name, folder: fresh_folder() }
    }

    /// The file of an embedded one.
    pub fn file(&self) -> PathBuf {
        self.folder().join("battenboard.db")
    }

    fn folder(&self) -> &PathBuf {
        match self {
            Self::Embedded { folder } | Self::Postgres { folder, .. } => folder,
        }
    }

    fn database(&self) -> Database {
        match self {
            Self::Embedded { .. } => Database::Embedded(self.file()),
            Self::Postgres { admin, name, .. } => {
                let server = admin.rsplit_once('/').map_or(admin.as_str(), |(server, _)| server);
                Database::Postgres(format!("{server}/{name}"))
            }
        }
    }

    /// A store on it, not migrated.
    pub async fn bare(&self) -> Store {
        Store::open(self.database(), 4).await.unwrap()
    }

    /// A store on it, migrated.
    pub async fn store(&self) -> Store {
        let store = self.bare().await;
        store.migrate().await.unwrap();
        store
    }

    /// A server's rules on it, without a wire; `change` changes its configuration.
    pub async fn app(&self, change: impl FnOnce(&mut Config)) -> Arc<App> {
        let mut config = Config::new(self.folder());
        config.database = Some(self.database());
        change(&mut config);
        let store = self.store().await;
        Arc::new(crate::startup::build(&config, store, config.listen, None).unwrap())
    }
}

impl Drop for TestDatabase {
    fn drop(&mut self) {
        if let Self::Postgres { admin, name, .. } = self {
            let (admin, drop) = (admin.clone(), format!("DROP DATABASE IF EXISTS {name} WITH (FORCE)"));
            // On a thread of its own: a test's runtime may be the one that drops this.
            let _ = std::thread::spawn(move || block_on(execute(&admin, &drop))).join();
        }
        let _ = std::fs::remove_dir_all(self.folder());
    }
}

async fn execute(address: &str, statement: &str) {
    execute_for_tests(address, statement).await.unwrap();
}
