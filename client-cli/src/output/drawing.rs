//! The frame in characters: from above, and from the left side, at one scale. Member axes and tags, nothing more.
//!
//! Seen from above, the front of the vehicle is to the left and its right side at the bottom; seen from the side, the
//! front is to the left and the floor at the bottom. A character is taken as twice as high as it is wide.

use super::sheet::Sheet;
use battenboard_engine::design::{Design, Vector};

/// A member as drawn: its tag, and the cells of its ends (column, row).
type Drawn<'a> = (&'a str, (i64, i64), (i64, i64));

/// Columns of the whole drawing.
pub const COLUMNS: usize = 70;
/// Rows of the whole drawing, with its caption.
pub const ROWS: usize = 18;

/// Free columns around a view, for tags.
const MARGIN: usize = 4;

/// Both views beside each other, or below each other where the frame is long and low.
pub fn drawing(design: &Design, width: usize) -> Sheet {
    let mut sheet = Sheet::new(width.max(COLUMNS));
    let Some(extent) = Extent::of(design) else {
        sheet.line("(nothing to draw: the design has no members)");
        return sheet;
    };
    let beside = Layout::beside(&extent);
    let below = Layout::below(&extent);
    let layout = if beside.mm_per_column <= below.mm_per_column { beside } else { below };
    let plan = view(design, &extent, &layout, View::Above);
    let side = view(design, &extent, &layout, View::Side);
    let (above_caption, side_caption) = ("from above (front <)", "from the left side (front <)");
    if layout.beside {
        let gap = COLUMNS.saturating_sub(plan.columns + side.columns).min(4);
        let second = plan.columns + gap;
        sheet.line(format!("{above_caption:second$}{side_caption}"));
        let rows = plan.rows.max(side.rows);
        for row in 0..rows {
            let left = plan.text(row, rows);
            let right = side.text(row, rows);
            sheet.line(format!("{left:second$}{right}"));
        }
    } else {
        sheet.line(above_caption);
        (0..plan.rows).for_each(|row| sheet.line(plan.text(row, plan.rows)));
        sheet.line(side_caption);
        (0..side.rows).for_each(|row| sheet.line(side.text(row, side.rows)));
    }
    sheet
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum View {
    Above,
    Side,
}

/// Least and greatest coordinates of all member ends, mm.
struct Extent {
    least: Vector,
    greatest: Vector,
}

impl Extent {
    fn of(design: &Design) -> Option<Self> {
        let mut ends = design.members.iter().flat_map(|member| [member.from, member.to]);
        let first = ends.next()?;
        let (mut least, mut greatest) = (first, first);
        for end in ends {
            for axis in 0..3 {
                least[axis] = least[axis].min(end[axis]);
                greatest[axis] = greatest[axis].max(end[axis]);
            }
        }
        // The floor belongs to the picture.
        least[2] = least[2].min(0.0);
        (least.iter().chain(&greatest).all(|value| value.is_finite())).then_some(Self { least, greatest })
    }

    fn size(&self, axis: usize) -> f64 {
        (self.greatest[axis] - self.least[axis]).max(1.0)
    }
}

/// How the two views share the room.
struct Layout {
    beside: bool,
    mm_per_column: f64,
}

impl Layout {
    fn beside(extent: &Extent) -> Self {
        // Each view is `MARGIN` wider on both sides; a gap of four columns lies between them.
        let across = extent.size(0) / ((COLUMNS - 4) / 2 - 2 * MARGIN - 1) as f64;
        // One caption, a row of tags, the floor, and one for rounding.
        let down = extent.size(1).max(extent.size(2)) / (2 * (ROWS - 5)) as f64;
        Self { beside: true, mm_per_column: across.max(down) }
    }

    fn below(extent: &Extent) -> Self {
        let across = extent.size(0) / (COLUMNS - 2 * MARGIN - 1) as f64;
        // Two captions, a row of tags and one for rounding in each view, the floor.
        let down = (extent.size(1) + extent.size(2)) / (2 * (ROWS - 9)) as f64;
        Self { beside: false, mm_per_column: across.max(down) }
    }
}

/// A rectangle of characters.
struct Canvas {
    columns: usize,
    rows: usize,
    cells: Vec<char>,
}

impl Canvas {
    fn new(columns: usize, rows: usize) -> Self {
        Self { columns, rows, cells: vec![' '; columns * rows] }
    }

    fn cell(&mut self, column: i64, row: i64) -> Option<&mut char> {
        let column = usize::try_from(column).ok().filter(|column| *column < self.columns)?;
        let row = usize::try_from(row).ok().filter(|row| *row < self.rows)?;
        self.cells.get_mut(row * self.columns + column)
    }

    /// Draws over a cell; where lines of two directions cross stands a `+`.
    fn draw(&mut self, column: i64, row: i64, mark: char) {
        if let Some(cell) = self.cell(column, row) {
            *cell = match *cell {
                ' ' => mark,
                same if same == mark => mark,
                'o' => 'o',
                _ if mark == 'o' => mark,
                _ => '+',
            };
        }
    }

    /// Writes a tag where all its cells are empty.
    fn write(&mut self, column: i64, row: i64, text: &str) -> bool {
        let places: Vec<i64> = (0..).take(text.chars().count()).map(|offset| column + offset).collect();
        let roomy = (column - 1..=column + places.len() as i64).all(|place| {
            let inside = places.contains(&place);
            self.cell(place, row).map_or(!inside, |cell| if inside { *cell == ' ' } else { !cell.is_alphanumeric() })
        });
        if roomy {
            for (place, letter) in places.into_iter().zip(text.chars()) {
                if let Some(cell) = self.cell(place, row) {
                    *cell = letter;
                }
            }
        }
        roomy
    }

    /// One row of the canvas as it stands at the bottom of `rows` rows.
    fn text(&self, row: usize, rows: usize) -> String {
        let skipped = rows - self.rows;
        row.checked_sub(skipped)
            .map(|row| self.cells.iter().skip(row * self.columns).take(self.columns).collect::<String>())
            .map_or_else(String::new, |line| line.trim_end().to_owned())
    }
}

fn view(design: &Design, extent: &Extent, layout: &Layout, view: View) -> Canvas {
    let axis = if view == View::Above { 1 } else { 2 };
    let scale = layout.mm_per_column;
    let columns = (extent.size(0) / scale).round() as usize + 1 + 2 * MARGIN;
    // One more row above for tags, and below the side view the floor.
    let rows = (extent.size(axis) / (2.0 * scale)).round() as usize + 2 + usize::from(view == View::Side);
    let mut canvas = Canvas::new(columns.min(COLUMNS), rows);
    let place = |point: Vector| {
        let column = ((point[0] - extent.least[0]) / scale).round() as i64 + MARGIN as i64;
        let down = if view == View::Above { point[1] - extent.least[1] } else { extent.greatest[2] - point[2] };
        (column, (down / (2.0 * scale)).round() as i64 + 1)
    };
    if view == View::Side {
        let floor = place([extent.least[0], 0.0, 0.0]).1 + 1;
        (0..columns as i64).for_each(|column| canvas.draw(column, floor.min(rows as i64 - 1), '_'));
    }
    let ends: Vec<Drawn<'_>> =
        design.members.iter().map(|member| (member.tag.as_str(), place(member.from), place(member.to))).collect();
    for (_, from, to) in &ends {
        line(&mut canvas, *from, *to);
    }
    // Longest first: a rail's tag matters more than that of the seventh bearer.
    let mut order: Vec<usize> = (0..ends.len()).collect();
    order.sort_by_key(|index| {
        let (_, from, to) = ends[*index];
        std::cmp::Reverse((to.0 - from.0).abs().max(2 * (to.1 - from.1).abs()))
    });
    let mut written: Vec<Drawn<'_>> = Vec::new();
    for index in order {
        let (tag, from, to) = ends[index];
        // Members that lie behind each other in this view share their tag's place: the first one keeps it.
        let hidden = written.iter().any(|(_, a, b)| (*a, *b) == (from, to) || (*b, *a) == (from, to));
        if !hidden && label(&mut canvas, tag, from, to) {
            written.push((tag, from, to));
        }
    }
    canvas
}

fn line(canvas: &mut Canvas, from: (i64, i64), to: (i64, i64)) {
    let (across, down) = (to.0 - from.0, to.1 - from.1);
    let steps = across.abs().max(down.abs());
    if steps == 0 {
        canvas.draw(from.0, from.1, 'o');
        return;
    }
    let mark = match (across, down) {
        (_, 0) => '=',
        (0, _) => '|',
        (a, d) if (a > 0) == (d > 0) => '\\',
        _ => '/',
    };
    for step in 0..=steps {
        let part = step as f64 / steps as f64;
        let column = from.0 as f64 + part * across as f64;
        let row = from.1 as f64 + part * down as f64;
        canvas.draw(column.round() as i64, row.round() as i64, mark);
    }
}

/// Tries the places around a member until its tag stands free.
fn label(canvas: &mut Canvas, tag: &str, from: (i64, i64), to: (i64, i64)) -> bool {
    let length = tag.chars().count() as i64;
    let (left, right) = if from.0 <= to.0 { (from, to) } else { (to, from) };
    let (top, bottom) = if from.1 <= to.1 { (from, to) } else { (to, from) };
    let middle = ((from.0 + to.0) / 2, (from.1 + to.1) / 2);
    let level = from.1 == to.1 && from.0 != to.0;
    let candidates = if level {
        [(left.0 - length - 1, left.1), (right.0 + 2, right.1), (middle.0, middle.1 - 1), (middle.0, middle.1 + 1)]
    } else {
        [
            (top.0 - length / 2, top.1 - 1),
            (middle.0 + 1, middle.1),
            (middle.0 - length, middle.1),
            (bottom.0 - length / 2, bottom.1 + 1),
        ]
    };
    candidates.into_iter().any(|(column, row)| canvas.write(column, row, tag))
}

#[cfg(test)]
#[path = "drawing_tests.rs"]
mod tests;
