//! Finding what lies at a place without looking at everything.

use super::NEAR_MM;
use super::items::{Item, Part};
use crate::design::Vector;
use std::collections::BTreeMap;

/// Parts by the cell their point lies in; cells are as wide as two points of one place may lie apart.
pub(super) struct Grid<'p> {
    cells: BTreeMap<[i64; 3], Vec<(&'p str, &'p Part)>>,
}

impl<'p> Grid<'p> {
    /// Of these parts.
    pub fn of(parts: impl IntoIterator<Item = (&'p str, &'p Part)>) -> Self {
        let mut cells: BTreeMap<[i64; 3], Vec<(&'p str, &'p Part)>> = BTreeMap::new();
        for (tag, part) in parts {
            cells.entry(cell(part.item.point())).or_default().push((tag, part));
        }
        Self { cells }
    }

    /// Those at the place of an item.
    pub fn there(&self, item: &Item) -> impl Iterator<Item = (&'p str, &'p Part)> {
        let [x, y, z] = cell(item.point());
        let around = |at: i64| [at.saturating_sub(1), at, at.saturating_add(1)];
        let mut found = Vec::new();
        for cell in around(x).into_iter().flat_map(|x| around(y).map(|y| [x, y])) {
            for z in around(z) {
                let here = self.cells.get(&[cell[0], cell[1], z]).into_iter().flatten();
                found.extend(here.filter(|(_, part)| part.item.same_place(item)).copied());
            }
        }
        found.into_iter()
    }
}

fn cell(point: Vector) -> [i64; 3] {
    // A place beyond all whole numbers goes into the outermost cell.
    point.map(|part| (part / NEAR_MM).floor() as i64)
}
