//! The database, typed in and out: SQL only, no rule and no rights.
//!
//! Reads take [`Store::read`]; every write goes through [`Store::write_tx`] and [`Store::commit`]. On SQLite that is one
//! writing connection and `BEGIN IMMEDIATE`; a deferred transaction that reads first fails with "database is locked"
//! however long it is told to wait.

pub mod accounts;
pub mod checks;
mod connect;
#[cfg(test)]
mod contract;
pub mod cutting;
pub mod designs;
pub mod entity;
mod error;
pub mod events;
pub mod findings;
pub mod groups;
pub mod invitations;
pub mod notices;
pub mod proofs;
pub mod records;
pub mod recovery;
pub mod remarks;
pub mod requests;
pub mod reviews;
pub mod revisions;
pub mod sessions;
mod signal;
pub mod standings;
#[cfg(test)]
mod surroundings;
pub mod take_ups;
mod transaction;
pub mod vehicles;

pub use connect::{Database, Store};
pub use error::StoreError;
pub use sea_orm::ConnectionTrait as Connection;
use sea_orm::{
    AccessMode, DatabaseConnection, IsolationLevel, SqliteTransactionMode, TransactionOptions, TransactionTrait,
};
pub use signal::Grown;
pub use transaction::WriteTx;

/// What a store function gives.
pub type StoreResult<T> = Result<T, StoreError>;

impl Store {
    /// The connections for reading outside a transaction.
    pub fn read(&self) -> &DatabaseConnection {
        &self.pools().readers
    }

    /// Begins a writing transaction, waiting for its turn.
    ///
    /// # Errors
    /// [`StoreError::Unavailable`] when the database is gone, locked by another program, or its turn does not come.
    #[expect(clippy::disallowed_methods, reason = "this is the one helper the ban points to")]
    pub async fn write_tx(&self) -> StoreResult<WriteTx> {
        let options = TransactionOptions {
            // Rows are locked by the statements that need it; the counters are `UPDATE ... RETURNING`.
            isolation_level: self.is_postgres().then_some(IsolationLevel::ReadCommitted),
            access_mode: self.is_postgres().then_some(AccessMode::ReadWrite),
            sqlite_transaction_mode: Some(SqliteTransactionMode::Immediate),
        };
        Ok(WriteTx::new(self.pools().writer.begin_with_options(options).await?))
    }

    /// Makes a transaction's changes durable, and tells the readers of the streams it appended events to.
    ///
    /// # Errors
    /// [`StoreError::Unavailable`] when they could not be written: then none of them happened.
    pub async fn commit(&self, tx: WriteTx) -> StoreResult<()> {
        let (streams, committed) = tx.commit().await;
        // Told even where the commit's answer was lost: it may have happened, and a look too many does no harm.
        self.tell_grown(streams);
        Ok(committed?)
    }
}

/// Runs one statement on a database server; for making and dropping the databases of tests.
#[cfg(test)]
pub async fn execute_for_tests(address: &str, statement: &str) -> StoreResult<()> {
    let connection = sea_orm::Database::connect(address).await?;
    sea_orm::ConnectionTrait::execute_unprepared(&connection, statement).await?;
    Ok(connection.close().await?)
}
