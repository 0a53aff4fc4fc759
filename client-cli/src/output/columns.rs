//! A table without lines: columns as wide as their widest entry, the last one broken between words.

use super::sheet::{Sheet, wrap};

/// Which side of a column its entries keep to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

/// Appends a table; `columns` are the heads with the side they keep to. Too long entries of inner columns are cut.
pub fn table(sheet: &mut Sheet, columns: &[(&str, Side)], rows: &[Vec<String>]) {
    table_with_notes(sheet, columns, rows, &[]);
}

/// The same, with what is said of each row set in below it; an empty note is left out.
pub fn table_with_notes(sheet: &mut Sheet, columns: &[(&str, Side)], rows: &[Vec<String>], notes: &[String]) {
    const GAP: usize = 2;
    const WIDEST_INNER: usize = 30;
    let plain: Vec<Vec<String>> =
        rows.iter().map(|row| row.iter().map(|entry| entry.replace(['\u{a0}', '\n'], " ")).collect()).collect();
    let widths: Vec<usize> = columns
        .iter()
        .enumerate()
        .map(|(index, (head, _))| {
            let entries = plain.iter().filter_map(|row| row.get(index)).map(|entry| entry.chars().count());
            entries.chain([head.chars().count()]).max().unwrap_or(0).min(WIDEST_INNER)
        })
        .collect();
    let Some(last) = columns.len().checked_sub(1) else { return };
    let before: usize = widths.iter().take(last).map(|width| width + GAP).sum();
    let room = sheet.width().saturating_sub(before).max(10);
    let put = |sheet: &mut Sheet, entries: &[String]| {
        let mut lead = String::new();
        for (index, (_, side)) in columns.iter().enumerate().take(last) {
            let entry = cut(entries.get(index).map_or("", String::as_str), widths[index]);
            let fill = " ".repeat(widths[index] - entry.chars().count());
            lead.push_str(&if *side == Side::Left { format!("{entry}{fill}  ") } else { format!("{fill}{entry}  ") });
        }
        let text = entries.get(last).map_or("", String::as_str);
        for (index, line) in wrap(text, room).iter().enumerate() {
            let start = if index == 0 { lead.clone() } else { " ".repeat(before) };
            let fill = match columns[last].1 {
                Side::Left => String::new(),
                Side::Right => " ".repeat(widths[last].saturating_sub(line.chars().count())),
            };
            sheet.line(format!("{start}{fill}{line}"));
        }
    };
    put(sheet, &columns.iter().map(|(head, _)| (*head).to_owned()).collect::<Vec<_>>());
    for (index, row) in plain.iter().enumerate() {
        put(sheet, row);
        if let Some(note) = notes.get(index).filter(|note| !note.is_empty()) {
            sheet.hanging("   ", note);
        }
    }
}

fn cut(entry: &str, width: usize) -> String {
    if entry.chars().count() <= width {
        return entry.to_owned();
    }
    let kept: String = entry.chars().take(width.saturating_sub(1)).collect();
    format!("{kept}~")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_keep_right_and_the_last_column_wraps() {
        let mut sheet = Sheet::new(40);
        let rows = [
            vec!["B3".to_owned(), "0.71".to_owned(), "kneeling at the edge with gear below".to_owned()],
            vec!["RAIL".to_owned(), "11.00".to_owned(), "both asleep".to_owned()],
        ];
        table(&mut sheet, &[("tag", Side::Left), ("of 1", Side::Right), ("when", Side::Left)], &rows);
        assert_eq!(
            sheet.to_string(),
            "tag    of 1  when\nB3     0.71  kneeling at the edge with\n             gear below\nRAIL  11.00  both asleep\n"
        );
    }
}
