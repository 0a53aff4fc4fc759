//! Opening the database and keeping hold of it.

use super::signal::Bells;
use super::{StoreError, StoreResult};
use battenboard_migrations::{Migrator, MigratorTrait};
use sea_orm::sqlx::Connection as _;
use sea_orm::sqlx::postgres::{PgConnectOptions, PgPoolOptions};
use sea_orm::sqlx::sqlite::{SqliteConnectOptions, SqliteJournalMode, SqlitePoolOptions, SqliteSynchronous};
use sea_orm::{ConnectionTrait, DatabaseConnection, SqlxPostgresConnector, SqlxSqliteConnector};
use std::path::{Path, PathBuf};
use std::str::FromStr;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

/// How long a statement waits for its turn before the caller is told that the database is busy.
const TURN_WAIT: Duration = Duration::from_secs(5);
/// How long ago a connection to PostgreSQL may have been used and is taken to be alive still.
const UNASKED: Duration = Duration::from_secs(1);
/// Connections of a server to PostgreSQL.
const POSTGRES_CONNECTIONS: u32 = 8;

/// Where the data are.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Database {
    /// SQLite in this file.
    Embedded(PathBuf),
    /// PostgreSQL at this address (`postgres://...`).
    Postgres(String),
}

/// Connections by their use. On PostgreSQL both are the same pool.
#[derive(Clone, Debug)]
pub struct Pools {
    /// For writing transactions; one connection on SQLite.
    pub writer: DatabaseConnection,
    /// For reading.
    pub readers: DatabaseConnection,
}

/// The opened database.
#[derive(Clone, Debug)]
pub struct Store {
    pools: Arc<Pools>,
    bells: Arc<Bells>,
    database: Database,
}

impl Store {
    /// Opens the database; on SQLite the file is made if it is missing. Migrates nothing.
    ///
    /// # Errors
    /// [`StoreError::Unavailable`] when it cannot be reached, [`StoreError::Refused`] for a bad address.
    pub async fn open(database: Database, readers: u32) -> StoreResult<Self> {
        let pools = match &database {
            Database::Embedded(file) => open_embedded(file, readers).await?,
            Database::Postgres(address) => open_postgres(address).await?,
        };
        Ok(Self { pools: Arc::new(pools), bells: Arc::default(), database })
    }

    pub(super) fn pools(&self) -> &Pools {
        &self.pools
    }

    pub(super) fn bells(&self) -> &Bells {
        &self.bells
    }

    pub(super) fn database(&self) -> &Database {
        &self.database
    }

    pub(super) fn is_postgres(&self) -> bool {
        matches!(self.database, Database::Postgres(_))
    }

    /// Brings the embedded database to this release, after a copy of it was made beside it; on PostgreSQL only looks
    /// whether somebody did.
    ///
    /// # Errors
    /// [`StoreError::NotMigrated`] for a PostgreSQL database of another release; otherwise what the database says.
    pub async fn make_ready(&self) -> StoreResult<()> {
        match &self.database {
            Database::Embedded(file) => {
                if !self.missing_migrations().await?.is_empty() {
                    self.copy_aside(file).await?;
                    Migrator::up(&self.pools.writer, None).await?;
                }
                Ok(())
            }
            Database::Postgres(_) => self.refuse_other_release().await,
        }
    }

    /// Refuses a database that some migration is missing in.
    ///
    /// # Errors
    /// [`StoreError::NotMigrated`]; otherwise what the database says.
    pub async fn refuse_other_release(&self) -> StoreResult<()> {
        match self.missing_migrations().await? {
            missing if missing.is_empty() => Ok(()),
            missing => Err(StoreError::NotMigrated { missing: missing.join(", ") }),
        }
    }

    /// Runs every migration that is missing.
    ///
    /// # Errors
    /// What the database says; a migration that failed left nothing.
    pub async fn migrate(&self) -> StoreResult<Vec<String>> {
        let missing = self.missing_migrations().await?;
        if let Database::Embedded(file) = &self.database
            && !missing.is_empty()
        {
            self.copy_aside(file).await?;
        }
        Migrator::up(&self.pools.writer, None).await?;
        Ok(missing)
    }

    async fn missing_migrations(&self) -> StoreResult<Vec<String>> {
        let pending = Migrator::get_pending_migrations_read_only(&self.pools.writer).await?;
        Ok(pending.iter().map(|migration| migration.name().to_owned()).collect())
    }

    /// A copy of a database that has something in it, before it is changed.
    async fn copy_aside(&self, file: &Path) -> StoreResult<()> {
        let applied = Migrator::get_applied_migrations_read_only(&self.pools.writer).await?;
        if applied.is_empty() {
            return Ok(());
        }
        let copy = file.with_extension(format!("before-{}.db", crate::clock::now_micros()));
        let quoted = copy.to_string_lossy().replace('\'', "''");
        self.pools.writer.execute_unprepared(&format!("VACUUM INTO '{quoted}'")).await?;
        Ok(())
    }

    /// Closes all connections; on SQLite this writes the log back into the database file.
    pub async fn close(&self) {
        let Pools { writer, readers } = self.pools.as_ref();
        for (pool, of) in [(readers, "reading"), (writer, "writing")] {
            if let Err(error) = pool.clone().close().await {
                tracing::warn!(%error, of, "connections did not close in order");
            }
        }
    }
}

async fn open_embedded(file: &Path, readers: u32) -> StoreResult<Pools> {
    let options = SqliteConnectOptions::new()
        .filename(file)
        .journal_mode(SqliteJournalMode::Wal)
        .synchronous(SqliteSynchronous::Full)
        .foreign_keys(true)
        .busy_timeout(TURN_WAIT);
    // Made once, by hand: the pools below must never make an empty database where one has vanished.
    SqlitePoolOptions::new()
        .max_connections(1)
        .connect_with(options.clone().create_if_missing(true))
        .await
        .map_err(StoreError::from)?
        .close()
        .await;
    let whereabouts = Whereabouts::of(file);
    let writer = sqlite_pool(options.clone(), 1, whereabouts.clone()).await?;
    let readers = sqlite_pool(options.read_only(true), readers.max(1), whereabouts).await?;
    Ok(Pools { writer, readers })
}

async fn sqlite_pool(options: SqliteConnectOptions, most: u32, file: Whereabouts) -> StoreResult<DatabaseConnection> {
    let pool = SqlitePoolOptions::new()
        .max_connections(most)
        .min_connections(0)
        .acquire_timeout(TURN_WAIT)
        .test_before_acquire(false)
        .idle_timeout(None)
        .max_lifetime(None)
        .before_acquire(move |_, connection| {
            let good = file.is_same_since(connection.age);
            Box::pin(async move { Ok(good) })
        })
        .connect_with(options.create_if_missing(false))
        .await?;
    Ok(SqlxSqliteConnector::from_sqlx_sqlite_pool(pool))
}

async fn open_postgres(address: &str) -> StoreResult<Pools> {
    let options = PgConnectOptions::from_str(address)?.application_name("battenboard-server");
    let pool = PgPoolOptions::new()
        .max_connections(POSTGRES_CONNECTIONS)
        .min_connections(0)
        .acquire_timeout(TURN_WAIT)
        .test_before_acquire(false)
        .before_acquire(|connection, age| {
            Box::pin(async move {
                // One that was just used is not asked first whether it is alive: that would double the ways of each read.
                if age.idle_for > UNASKED {
                    connection.ping().await?;
                }
                Ok(true)
            })
        })
        .connect_with(options)
        .await?;
    let both = SqlxPostgresConnector::from_sqlx_postgres_pool(pool);
    Ok(Pools { writer: both.clone(), readers: both })
}

/// Watches that the database file is still the one that was opened. A connection to a file that was moved away or
/// replaced would go on writing where nobody will ever look; such a connection is dropped and a new one is tried.
#[derive(Clone, Debug)]
struct Whereabouts {
    file: PathBuf,
    seen: Arc<Mutex<(Option<u64>, Instant)>>,
}

impl Whereabouts {
    fn of(file: &Path) -> Self {
        Self { file: file.to_owned(), seen: Arc::new(Mutex::new((identity(file), Instant::now()))) }
    }

    /// True when the file has not changed its identity within `age`.
    fn is_same_since(&self, age: Duration) -> bool {
        let now = identity(&self.file);
        let mut seen = self.seen.lock().unwrap_or_else(PoisonError::into_inner);
        if seen.0 != now {
            *seen = (now, Instant::now());
        }
        now.is_some() && age <= seen.1.elapsed()
    }
}

/// A number that tells one file from another of the same name.
#[cfg(unix)]
fn identity(file: &Path) -> Option<u64> {
    use std::os::unix::fs::MetadataExt;
    std::fs::metadata(file).ok().map(|facts| facts.ino() ^ facts.dev().rotate_left(32))
}

/// A number that tells one file from another of the same name; elsewhere only whether it is there.
#[cfg(not(unix))]
fn identity(file: &Path) -> Option<u64> {
    std::fs::metadata(file).ok().map(|_| 0)
}
