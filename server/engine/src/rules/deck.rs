//! Decks between their members.
