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
mod m20261126_000006_noticeboard;
mod m20261126_000007_standings;
mod m20261126_000008_notices;
mod m20261126_000009_reviews;
mod m20261126_000010_proofs;
mod m20261126_000011_cutting;
mod m20261126_000012_recovery;
mod m20261126_000013_axles;
mod m20261126_000014_vehicles;
mod m20261126_000015_shortcuts;

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
            Box::new(m20261126_000006_noticeboard::Migration),
            Box::new(m20261126_000007_standings::Migration),
            Box::new(m20261126_000008_notices::Migration),
            Box::new(m20261126_000009_reviews::Migration),
            Box::new(m20261126_000010_proofs::Migration),
            Box::new(m20261126_000011_cutting::Migration),
            Box::new(m20261126_000012_recovery::Migration),
            Box::new(m20261126_000013_axles::Migration),
            Box::new(m20261126_000014_vehicles::Migration),
            Box::new(m20261126_000015_shortcuts::Migration),
        ]
    }
}
