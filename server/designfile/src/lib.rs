//! The design file: strict TOML with places, from text to [`Design`](battenboard_engine::design::Design) and back.
//!
//! Pure: text in, data out; no file is opened here. [`read`] collects every mistake of a text at once, each with its
//! line, column and byte span, in words for somebody with a saw; [`read_frame`] also runs the engine's own checks and
//! points their findings at the text. [`write`] makes a plain file of a design, [`set_stock`] changes the stock of
//! members in a file and touches nothing else of it, [`set_vehicle`] does so with its vehicle, [`template`] is a commented starter file.
//!
//! Bare numbers in a file are mm, kg, degrees, N, N/mm, N·mm; see [`unit`] for quantities with a unit.

mod anchors;
mod cuts;
mod decks;
mod desk;
mod edit;
mod fields;
mod hold;
mod joints;
mod lines;
mod loads;
mod members;
mod mistake;
mod pairing;
mod pattern;
mod people;
mod places;
mod read;
mod scan;
mod settings;
mod stock;
mod syntax;
mod tags;
mod template;
mod to_be_measured;
pub mod unit;
mod value;
mod vehicle;
mod write;

pub use edit::{EditError, set_name, set_stock, set_vehicle};
pub use mistake::Mistake;
pub use places::{Place, Places};
pub use read::{Read, read, read_bytes, read_frame};
pub use template::{StartAnswers, StartKind, template};
pub use unit::{Kind, QuantityError, quantity, size};
pub use write::{vehicle_fields, write};

/// Longest text that is read, bytes.
pub const TEXT_LIMIT: usize = 256 * 1024;
/// Deepest nesting of lists and tables, and most parts of a dotted key.
pub const NESTING_LIMIT: usize = 16;
/// Most members, patterns written out.
pub const MEMBER_LIMIT: usize = 10_000;
/// Most joints, patterns written out; also of anchors, and of the places where decks lie on members.
pub const JOINT_LIMIT: usize = 60_000;
/// Most entries of people, and most people of one entry.
pub const PEOPLE_LIMIT: usize = 64;
/// Most boxes of gear.
pub const STOWAGE_LIMIT: usize = 64;
/// Most given loads.
pub const LOAD_LIMIT: usize = 256;
/// Most stock.
pub const STOCK_LIMIT: usize = 64;
/// Most decks.
pub const DECK_LIMIT: usize = 64;
/// Most things that are still to be measured, rows written out.
pub const TO_BE_MEASURED_LIMIT: usize = battenboard_engine::design::TO_BE_MEASURED_MAX;
/// Most mistakes that are told; one more entry then says how many are left.
pub const MISTAKE_LIMIT: usize = 50;
