//! The database of Battenboard, step by step: the same steps on SQLite and on PostgreSQL.
//!
//! One file a migration, additive only; README.md beside this crate says how a change is made in two releases.

use sea_orm_migration::prelude::*;

mod columns;
mod m20261125_000001_accounts;
mod m20261125_000002_groups;
mod m20261125_000003_designs;
mod m20261125_000004_findings;
mod m20261125_000005_remarks;
mod m20261126_000010_proofs;

pub use sea_orm_migration::MigratorTrait;

/// All migrations, oldest first.
pub struct Migrator;

#[async_trait::async_trait]
impl MigratorTrait for Migrator {
    fn migrations() -> Vec<Box<dyn MigrationTrait>> {
        vec![
            Box::new(m20261125_000001_accounts::Migration),
            Box::new(m20261125_000002_groups::Migration),
            Box::new(m20261125_000003_designs::Migration),
            Box::new(m20261125_000004_findings::Migration),
            Box::new(m20261125_000005_remarks::Migration),
            Box::new(m20261126_000010_proofs::Migration),
        ]
    }
}
