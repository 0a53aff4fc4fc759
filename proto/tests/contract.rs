//! The contract keeps its promises: style by descriptor, and nothing of the committed v1 goes or changes.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    missing_docs,
    reason = "a test stops at the first surprise"
)]

#[path = "contract/descriptor.rs"]
mod descriptor;
#[path = "contract/promise.rs"]
mod promise;
#[path = "contract/style.rs"]
mod style;
