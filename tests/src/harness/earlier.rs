//! A database as an earlier release left it: without what later migrations brought, with the rows it had.

use super::{Database, DatabaseKind};
use battenboard_migrations::{Migrator, MigratorTrait};
use sea_orm::{ConnectionTrait, DatabaseConnection, DbErr};
use std::collections::BTreeSet;

/// Makes a database, while no server runs on it, what the first so many migrations would have made of it. Migrations only
/// add (an index apart), so what they added is taken away: on PostgreSQL by dropping it; on SQLite, which drops no columns
/// that refer to something, by copying the rest into a file of its own. On PostgreSQL the later migrations are then run, as
/// its host would; a server on SQLite runs them itself.
///
/// # Panics
/// Where the database refuses.
#[allow(clippy::expect_used, reason = "a failed step is a failed test")]
pub async fn back_to(database: &Database, migrations: u32) {
    match database.kind {
        DatabaseKind::Sqlite => copied(database, migrations).await.expect("a copy of the older shape"),
        DatabaseKind::Postgres => dropped(database, migrations).await.expect("the older shape"),
    }
}

async fn open(url: String) -> Result<DatabaseConnection, DbErr> {
    let mut options = sea_orm::ConnectOptions::new(url);
    options.max_connections(1).sqlx_logging(false);
    sea_orm::Database::connect(options).await
}

async fn copied(database: &Database, migrations: u32) -> Result<(), DbErr> {
    let (now, then) = (database.folder().join("battenboard.db"), database.folder().join("earlier.db"));
    let older = open(format!("sqlite://{}?mode=rwc", then.display())).await?;
    Migrator::up(&older, Some(migrations)).await?;
    older.execute_unprepared("PRAGMA foreign_keys = OFF").await?;
    older.execute_unprepared(&format!("ATTACH DATABASE '{}' AS now", now.display())).await?;
    let tables = "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%' AND name <> 'seaql_migrations'";
    for table in names(&older, tables).await? {
        let columns = format!("SELECT name FROM pragma_table_info('{table}')");
        let columns: Vec<String> = names(&older, &columns).await?.iter().map(|name| format!("\"{name}\"")).collect();
        let columns = columns.join(", ");
        let copy = format!("INSERT INTO main.{table} ({columns}) SELECT {columns} FROM now.{table}");
        older.execute_unprepared(&format!("DELETE FROM main.{table}")).await?;
        older.execute_unprepared(&copy).await?;
    }
    older.execute_unprepared("DETACH DATABASE now").await?;
    older.close().await?;
    std::fs::rename(then, now).map_err(|error| DbErr::Custom(error.to_string()))
}

/// What there is of a PostgreSQL database: its columns as `table.column`, its indexes as name and the statement that makes
/// it.
struct Shape {
    tables: BTreeSet<String>,
    columns: BTreeSet<String>,
    indexes: BTreeSet<String>,
    migrations: BTreeSet<String>,
}

impl Shape {
    async fn of(connection: &DatabaseConnection) -> Result<Self, DbErr> {
        let from = "FROM information_schema.columns WHERE table_schema = 'public'";
        let indexes = "FROM pg_indexes WHERE schemaname = 'public'";
        Ok(Self {
            tables: names(connection, &format!("SELECT DISTINCT table_name::text AS name {from}")).await?,
            columns: names(connection, &format!("SELECT table_name || '.' || column_name AS name {from}")).await?,
            indexes: names(connection, &format!("SELECT indexname || ' ' || indexdef AS name {indexes}")).await?,
            migrations: names(connection, "SELECT version AS name FROM seaql_migrations").await?,
        })
    }
}

async fn dropped(database: &Database, migrations: u32) -> Result<(), DbErr> {
    let url = database.url().unwrap_or_default();
    let connection = open(url.clone()).await?;
    let scratch = format!("{}_earlier", url.rsplit_once('/').map_or("", |(_, name)| name));
    connection.execute_unprepared(&format!("CREATE DATABASE {scratch}")).await?;
    let older = open(url.rsplit_once('/').map_or(String::new(), |(server, _)| format!("{server}/{scratch}"))).await?;
    Migrator::up(&older, Some(migrations)).await?;
    let (then, now) = (Shape::of(&older).await?, Shape::of(&connection).await?);
    older.close().await?;
    connection.execute_unprepared(&format!("DROP DATABASE {scratch}")).await?;
    for table in now.tables.difference(&then.tables) {
        connection.execute_unprepared(&format!("DROP TABLE {table} CASCADE")).await?;
    }
    for column in now.columns.difference(&then.columns) {
        let (table, column) = column.split_once('.').unwrap_or_default();
        if then.tables.contains(table) {
            connection.execute_unprepared(&format!("ALTER TABLE {table} DROP COLUMN {column} CASCADE")).await?;
        }
    }
    for index in now.indexes.difference(&then.indexes) {
        let name = index.split_once(' ').map_or("", |(name, _)| name);
        connection.execute_unprepared(&format!("DROP INDEX IF EXISTS {name}")).await?;
    }
    for index in then.indexes.difference(&now.indexes) {
        connection.execute_unprepared(index.split_once(' ').map_or("", |(_, making)| making)).await?;
    }
    for version in now.migrations.difference(&then.migrations) {
        connection.execute_unprepared(&format!("DELETE FROM seaql_migrations WHERE version = '{version}'")).await?;
    }
    Migrator::up(&connection, None).await?;
    connection.close().await
}

async fn names(connection: &DatabaseConnection, query: &str) -> Result<BTreeSet<String>, DbErr> {
    let statement = sea_orm::Statement::from_string(connection.get_database_backend(), query);
    let rows = connection.query_all_raw(statement).await?;
    rows.iter().map(|row| row.try_get("", "name")).collect()
}
