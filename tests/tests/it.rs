//! The whole through its own API: a real server, a real database (each test runs on both), people who act.
//! Modules mirror the services, file for file.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a failed step is a failed test")]

#[path = "it/abuse.rs"]
mod abuse;
#[path = "it/accounts.rs"]
mod accounts;
#[path = "it/carried.rs"]
mod carried;
#[path = "it/command.rs"]
mod command;
#[path = "it/demo_designs.rs"]
mod demo_designs;
#[path = "it/designs.rs"]
mod designs;
#[path = "it/facts.rs"]
mod facts;
#[path = "it/findings.rs"]
mod findings;
#[path = "it/foreign.rs"]
mod foreign;
#[path = "it/groups.rs"]
mod groups;
#[path = "it/host.rs"]
mod host;
#[path = "it/hostile.rs"]
mod hostile;
#[path = "it/join.rs"]
mod join;
#[path = "it/kill.rs"]
mod kill;
#[path = "it/news.rs"]
mod news;
#[path = "it/offline.rs"]
mod offline;
#[path = "it/outages.rs"]
mod outages;
#[path = "it/own_sums.rs"]
mod own_sums;
#[path = "it/proofs.rs"]
mod proofs;
#[path = "it/recovery.rs"]
mod recovery;
#[path = "it/releases.rs"]
mod releases;
#[path = "it/remarks.rs"]
mod remarks;
#[path = "it/rights.rs"]
mod rights;
#[path = "it/same_findings.rs"]
mod same_findings;
#[path = "it/scenarios.rs"]
mod scenarios;
#[path = "it/second_opinion.rs"]
mod second_opinion;
#[path = "it/story.rs"]
mod story;
#[path = "it/tokens.rs"]
mod tokens;
#[path = "it/tour.rs"]
mod tour;
#[path = "it/vehicles.rs"]
mod vehicles;
