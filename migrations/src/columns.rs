//! Column and index shapes used by every migration, so that both databases agree on types, order and length.

use sea_orm_migration::prelude::*;
use sea_orm_migration::sea_orm::DbBackend;

/// A uuid (version 7, made by the server).
pub fn id(name: &'static str) -> ColumnDef {
    let mut column = ColumnDef::new(name);
    column.uuid().not_null();
    column
}

/// Text ordered by its bytes on both databases: PostgreSQL's default collation would order by language.
pub fn text(manager: &SchemaManager<'_>, name: &'static str) -> ColumnDef {
    let mut column = ColumnDef::new(name);
    column.text();
    if manager.get_database_backend() == DbBackend::Postgres {
        column.extra("COLLATE \"C\"");
    }
    column.not_null();
    column
}

/// An instant: UTC microseconds since 1970. Text timestamps sort wrongly in SQLite.
pub fn instant(name: &'static str) -> ColumnDef {
    let mut column = ColumnDef::new(name);
    column.big_integer().not_null();
    column
}

/// A whole number of 64 bits.
pub fn whole(name: &'static str) -> ColumnDef {
    instant(name)
}

/// A measured or computed number.
pub fn number(name: &'static str) -> ColumnDef {
    let mut column = ColumnDef::new(name);
    column.double().not_null();
    column
}

/// Bytes kept as they are.
pub fn bytes(name: &'static str) -> ColumnDef {
    let mut column = ColumnDef::new(name);
    column.blob().not_null();
    column
}

/// Takes back the NOT NULL of a column above.
pub fn optional(mut column: ColumnDef) -> ColumnDef {
    column.null();
    column
}

/// A reference that keeps its target from being deleted.
pub fn reference(
    table: &'static str,
    column: &'static str,
    to_table: &'static str,
    to_column: &'static str,
) -> ForeignKeyCreateStatement {
    let mut key = ForeignKey::create();
    key.name(format!("fk_{table}_{column}")).from(table, column).to(to_table, to_column);
    key
}

/// Creates an index over the columns; neither database indexes a foreign key by itself.
pub async fn index(
    manager: &SchemaManager<'_>,
    table: &'static str,
    columns: &[&'static str],
    unique: bool,
) -> Result<(), DbErr> {
    let mut index = Index::create();
    index.name(format!("{}_{table}_{}", if unique { "un" } else { "ix" }, columns.join("_"))).table(table);
    for column in columns {
        index.col(*column);
    }
    if unique {
        index.unique();
    }
    manager.create_index(index.to_owned()).await
}

/// Adds a column to a table that is there; one a statement, SQLite takes no more.
pub async fn add(manager: &SchemaManager<'_>, table: &'static str, column: ColumnDef) -> Result<(), DbErr> {
    manager.alter_table(Table::alter().table(table).add_column(column).to_owned()).await
}
