//! What is asked of a frame and the answer: combinations of load cases, strength of members and decks, sag.
//!
//! EN 1990 and EN 1995-1-1:2004 + A1 + A2 with their recommended values. Stresses N/mm², lengths mm, forces N.

pub mod bearing;
pub mod combine;
pub mod deck;
pub mod equilibrium;
pub mod hole;
pub mod judge;
pub mod metal;
pub mod notch;
pub mod roots;
pub mod strength;
