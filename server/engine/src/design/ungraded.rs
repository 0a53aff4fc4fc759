//! Pieces whose grade nobody knows: sawn out of a graded board, or too small to be graded as one.
//!
//! A board is graded by its worst place. A batten ripped out of it may hold that place whole, so the board's class says
//! nothing of the batten (EN 14081-1 grades the section as sold; from memory). Such a piece is taken as the lowest
//! softwood class, C14, in strength and stiffness (P), unless it is said to be stamped or measured, or its class is no
//! better. Its mass stays that of its class, which is the heavier. Hardwood has no class of its own that low in the
//! tables, and glued timber is no single board: both keep their class (P) and are named as small.

use super::{Grading, Material, Section, Stock};
use crate::tables::timber::{self, Family, TimberClass};

/// Least sides of what is sold as a graded board, mm (P).
const BOARD_MM: [f64; 2] = [35.0, 60.0];

/// Name of the class that an ungraded piece is taken as.
pub const LOWEST: &str = "C14";

/// Whether a stock is sawn out of a board, or smaller than what is sold graded.
pub fn is_piece(stock: &Stock) -> bool {
    stock.resawn || small(&stock.section)
}

fn small(section: &Section) -> bool {
    let (one, other) = match section {
        Section::Rectangle { width_mm, depth_mm } => (*width_mm, *depth_mm),
        Section::Round { diameter_mm } => (*diameter_mm, *diameter_mm),
        Section::RectangularTube { .. } | Section::RoundTube { .. } | Section::Given(_) => return false,
    };
    one.min(other) < BOARD_MM[0] || one.max(other) < BOARD_MM[1]
}

/// The class an ungraded piece is taken as instead of its own; `None`: its own stands.
pub fn taken_as(stock: &Stock) -> Option<&'static TimberClass> {
    let Material::Class(name) = &stock.material else { return None };
    let own = timber::class(name).filter(|class| class.family == Family::Softwood)?;
    let lowest = timber::class(LOWEST)?;
    let lower = own.f_m_k > lowest.f_m_k;
    (stock.grading == Grading::Assumed && is_piece(stock) && lower).then_some(lowest)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stock(class: &str, width_mm: f64, depth_mm: f64, grading: Grading, resawn: bool) -> Stock {
        Stock {
            name: "s".to_owned(),
            section: Section::Rectangle { width_mm, depth_mm },
            material: Material::Class(class.to_owned()),
            grading,
            lengths_mm: Vec::new(),
            price_per_m: None,
            resawn,
        }
    }

    /// The rule of the engine's model, item 1, at its borders.
    #[test]
    fn which_pieces_are_ungraded() {
        let name = |s: &Stock| taken_as(s).map(|class| class.name);
        use Grading::{Assumed, Measured, Stamped};
        for (piece, taken) in [
            (stock("C24", 35.0, 60.0, Assumed, false), None),
            (stock("C24", 34.9, 60.0, Assumed, false), Some(LOWEST)),
            (stock("C24", 60.0, 34.9, Assumed, false), Some(LOWEST)),
            (stock("C24", 45.0, 45.0, Assumed, false), Some(LOWEST)),
            (stock("C24", 45.0, 45.0, Stamped, false), None),
            (stock("C24", 45.0, 45.0, Measured, true), None),
            (stock("C24", 45.0, 95.0, Assumed, true), Some(LOWEST)),
            (stock("C14", 20.0, 45.0, Assumed, false), None),
            (stock("D30", 20.0, 45.0, Assumed, false), None),
            (stock("GL24h", 20.0, 45.0, Assumed, true), None),
            (stock("birch plywood", 12.0, 45.0, Assumed, false), None),
        ] {
            assert_eq!(name(&piece), taken, "{piece:?}");
        }
    }
}
