//! Everything that is put on a screen: findings, designs and remarks in, lines of text out. Nothing here reads or
//! writes a file, and nothing knows the wire.

pub mod check_screen;
pub mod drawing;
pub mod figures;
pub mod places;
pub mod sheet;
pub mod terms;
pub mod words;

#[cfg(test)]
pub mod samples;
