//! Everything that is put on a screen: findings, designs and remarks in, lines of text out. Nothing here reads or
//! writes a file, and nothing knows the wire.

pub mod before_after;
pub mod check_screen;
pub mod codes_screen;
pub mod columns;
pub mod compare_screen;
pub mod cutting_screen;
pub mod drawing;
pub mod faults;
pub mod figures;
pub mod load_path;
pub mod mistakes;
pub mod news_screen;
pub mod notices_screen;
pub mod places;
pub mod proof_screen;
pub mod remarks_screen;
pub mod review_screen;
pub mod revisions_screen;
pub mod sheet;
pub mod standings;
pub mod table_screen;
pub mod terms;
pub mod times;
pub mod vehicle_screen;
pub mod whole;
pub mod whole_screen;
pub mod why_screen;
pub mod words;

#[cfg(test)]
pub mod samples;
