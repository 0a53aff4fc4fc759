//! What can go wrong between the server and its database, sorted by what a caller can do about it.

use sea_orm::sqlx::Error as SqlxError;
use sea_orm::{DbErr, RuntimeErr, SqlErr};

/// A failure of the store. The texts are for the server's own records, never for a caller.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// The database is gone, locked, full or too busy. Nothing was written; trying again later may work.
    #[error("the database cannot be used now: {cause}")]
    Unavailable {
        /// What the database said.
        cause: String,
    },
    /// A row with this unique value is there already.
    #[error("a unique value is taken: {constraint}")]
    Taken {
        /// What the database said of the constraint.
        constraint: String,
    },
    /// A statement was refused: a mistake of ours.
    #[error("the database refused a statement: {cause}")]
    Refused {
        /// What the database said.
        cause: String,
    },
    /// A stored value is not what this server writes.
    #[error("stored {what} cannot be read: {cause}")]
    Unreadable {
        /// Which value.
        what: &'static str,
        /// Why.
        cause: String,
    },
    /// The database belongs to another release.
    #[error("the database is not migrated to this release: {missing}")]
    NotMigrated {
        /// Which migrations are missing or unknown.
        missing: String,
    },
}

impl From<DbErr> for StoreError {
    fn from(error: DbErr) -> Self {
        if let Some(SqlErr::UniqueConstraintViolation(constraint)) = error.sql_err() {
            return Self::Taken { constraint };
        }
        let cause = error.to_string();
        match &error {
            DbErr::ConnectionAcquire(_) | DbErr::Conn(_) => Self::Unavailable { cause },
            DbErr::Exec(RuntimeErr::SqlxError(inner)) | DbErr::Query(RuntimeErr::SqlxError(inner))
                if is_unavailable(inner) =>
            {
                Self::Unavailable { cause }
            }
            _ => Self::Refused { cause },
        }
    }
}

impl From<SqlxError> for StoreError {
    fn from(error: SqlxError) -> Self {
        let cause = error.to_string();
        if is_unavailable(&error) { Self::Unavailable { cause } } else { Self::Refused { cause } }
    }
}

/// True for failures that lie with the database's surroundings and not with the statement.
fn is_unavailable(error: &SqlxError) -> bool {
    match error {
        SqlxError::Io(_)
        | SqlxError::Tls(_)
        | SqlxError::Protocol(_)
        | SqlxError::PoolTimedOut
        | SqlxError::PoolClosed
        | SqlxError::WorkerCrashed => true,
        SqlxError::Database(inner) => inner.code().is_some_and(|code| is_unavailable_code(&code)),
        _ => false,
    }
}

/// SQLite gives its extended result code in decimal, PostgreSQL five characters of SQLSTATE.
fn is_unavailable_code(code: &str) -> bool {
    if code.len() == 5 {
        // Connection, transaction rolled back, resources, object in use, operator intervention, system error;
        // 25006 is a read-only standby, 42P01 and 3D000 a database that is not there (any more).
        return ["08", "40", "53", "55", "57", "58"].iter().any(|class| code.starts_with(class))
            || ["25006", "42P01", "3D000"].contains(&code);
    }
    // BUSY, LOCKED, NOMEM, READONLY, IOERR, CORRUPT, FULL, CANTOPEN, PROTOCOL, NOTADB in the low byte.
    code.parse::<u32>().is_ok_and(|code| matches!(code & 0xff, 5 | 6 | 7 | 8 | 10 | 11 | 13 | 14 | 15 | 26))
}

#[cfg(test)]
mod tests {
    use super::is_unavailable_code;

    #[test]
    fn codes_of_surroundings_are_unavailable() {
        for code in ["5", "261", "13", "10", "778", "14", "57P01", "08006", "53100", "40P01", "42P01"] {
            assert!(is_unavailable_code(code), "{code}");
        }
        for code in ["1", "19", "2067", "42601", "23505", "22P02"] {
            assert!(!is_unavailable_code(code), "{code}");
        }
    }
}
