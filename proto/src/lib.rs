//! The contract of Battenboard, its Rust binding, and the conversions between wire and engine types.
//!
//! Wire types never serve as domain types: [`convert`] turns one into the other, field by field, and collects every
//! violation by field path.

pub mod convert;

/// Package `battenboard.v1` as generated from `battenboard/v1/*.proto`.
#[allow(
    missing_docs,
    clippy::all,
    reason = "generated code: its items are documented in the .proto files, its style is the generator's"
)]
pub mod v1 {
    tonic::include_proto!("battenboard.v1");
}

/// The descriptor set of the whole package with its imports and comments, for reflection.
pub const FILE_DESCRIPTOR_SET: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/battenboard.v1.binpb"));
