//! What room a frame leaves. So far the height over its decks; what collides and what slides in are later parts.
//!
//! Lengths mm, places in vehicle axes.

pub mod headroom;
