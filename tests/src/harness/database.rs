//! A database of its own for each test: SQLite in a fresh folder, or a fresh one on the PostgreSQL server that
//! `BATTENBOARD_TEST_POSTGRES` names.

use battenboard_migrations::{Migrator, MigratorTrait};
use sea_orm::{ConnectionTrait, DbErr};
use std::path::Path;
use tempfile::TempDir;

/// Environment variable: address of a PostgreSQL server as somebody who may make databases.
pub const POSTGRES: &str = "BATTENBOARD_TEST_POSTGRES";

/// Which kind of database.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DatabaseKind {
    /// Embedded.
    Sqlite,
    /// A server's.
    Postgres,
}

impl DatabaseKind {
    /// Every kind the store supports.
    pub const ALL: [Self; 2] = [Self::Sqlite, Self::Postgres];

    /// True where this machine has it.
    pub fn is_here(self) -> bool {
        self == Self::Sqlite || std::env::var_os(POSTGRES).is_some_and(|value| !value.is_empty())
    }
}

/// A fresh, empty, migrated database with a data folder; gone when dropped.
#[derive(Debug)]
pub struct Database {
    /// Its kind.
    pub kind: DatabaseKind,
    folder: TempDir,
    name: String,
}

impl Database {
    /// Makes one.
    ///
    /// # Panics
    /// Where it can't be made: a test cannot go on without it.
    #[allow(clippy::expect_used, reason = "without a database there is no test")]
    pub fn fresh(kind: DatabaseKind) -> Self {
        let folder = tempfile::Builder::new().prefix("battenboard-test-").tempdir().expect("a temporary folder");
        let name = format!("battenboard_test_{}", uuid::Uuid::now_v7().simple());
        let database = Self { kind, folder, name };
        if kind == DatabaseKind::Postgres {
            let (create, url) = (format!("CREATE DATABASE {}", database.name), database.postgres_url());
            apart(async move {
                execute(&admin_url(), &create).await?;
                let connection = sea_orm::Database::connect(&url).await?;
                Migrator::up(&connection, None).await?;
                connection.close().await
            })
            .expect("a fresh database on the test server");
        }
        database
    }

    /// Folder for the server's files; with SQLite also the database's.
    pub fn folder(&self) -> &Path {
        self.folder.path()
    }

    /// Address of a PostgreSQL database; `None` for the embedded one in [`Self::folder`].
    pub fn url(&self) -> Option<String> {
        (self.kind == DatabaseKind::Postgres).then(|| self.postgres_url())
    }

    /// A connection of one's own to a database that a server has made or migrated.
    ///
    /// # Errors
    /// Where it can't be made.
    pub async fn connect(&self) -> Result<sea_orm::DatabaseConnection, DbErr> {
        let embedded = || format!("sqlite://{}", self.folder().join("battenboard.db").display());
        let mut options = sea_orm::ConnectOptions::new(self.url().unwrap_or_else(embedded));
        options.max_connections(1).sqlx_logging(false);
        sea_orm::Database::connect(options).await
    }

    fn postgres_url(&self) -> String {
        let admin = admin_url();
        let server = admin.rsplit_once('/').map_or(admin.as_str(), |(server, _)| server);
        format!("{server}/{}", self.name)
    }
}

impl Drop for Database {
    fn drop(&mut self) {
        if self.kind == DatabaseKind::Postgres {
            let drop = format!("DROP DATABASE IF EXISTS {} WITH (FORCE)", self.name);
            // A database left behind on a test server is no failure of the test.
            let _ = apart(async move { execute(&admin_url(), &drop).await });
        }
    }
}

fn admin_url() -> String {
    std::env::var(POSTGRES).unwrap_or_default()
}

async fn execute(url: &str, statement: &str) -> Result<(), DbErr> {
    let connection = sea_orm::Database::connect(url).await?;
    connection.execute_unprepared(statement).await?;
    connection.close().await
}

/// Runs a future on a thread and runtime of its own, so that it may be called within another runtime and in `drop`.
fn apart(work: impl Future<Output = Result<(), DbErr>> + Send + 'static) -> Result<(), DbErr> {
    let thread = std::thread::spawn(move || {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build();
        runtime.map_err(|error| DbErr::Custom(error.to_string()))?.block_on(work)
    });
    thread.join().unwrap_or_else(|_| Err(DbErr::Custom("the thread ended early".into())))
}
