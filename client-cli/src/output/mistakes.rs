//! Mistakes of a design file, each with its line, the place underlined, and a guess at what was meant.

use super::sheet::Sheet;
use battenboard_designfile::Mistake;

/// All mistakes of one file, in the order of its text.
pub fn mistakes(file: &str, text: &str, list: &[Mistake], width: usize) -> Sheet {
    let mut sheet = Sheet::new(width);
    let count = match list.len() {
        1 => "a mistake".to_owned(),
        count => format!("{count} mistakes"),
    };
    sheet.paragraph(&format!("`{file}` has {count}"));
    for mistake in list {
        sheet.blank();
        let Mistake { line, column, span, message, mend, path: _ } = mistake;
        sheet.hanging("", &format!("line {line}, column {column}: {message}"));
        if let Some(source) = text.lines().nth(line.saturating_sub(1)) {
            let marked = text.get(span.clone()).map_or(1, |marked| marked.lines().next().unwrap_or("").chars().count());
            quote(&mut sheet, *line, *column, marked.max(1), source);
        }
        if let Some(mend) = mend {
            sheet.hanging("  mend: ", mend);
        }
    }
    sheet
}

/// The line itself and a row of `^` below the place; of a long line only the part around the place.
fn quote(sheet: &mut Sheet, line: usize, column: usize, marked: usize, source: &str) {
    const CUT: &str = "..";
    let number = format!("{line:>5} | ");
    let room = sheet.width().saturating_sub(number.chars().count());
    let letters: Vec<char> = source.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let place = column.saturating_sub(1).min(letters.len());
    // A third of the room before the place is enough to know where one is.
    let from = if letters.len() <= room { 0 } else { place.saturating_sub(room / 3) };
    let lead = if from > 0 { CUT } else { "" };
    let rest = letters.len() - from;
    let fits = room.saturating_sub(lead.len());
    let tail = if rest > fits { CUT } else { "" };
    let shown: String = letters.iter().skip(from).take(fits.min(rest).saturating_sub(tail.len())).collect();
    sheet.line(format!("{number}{lead}{shown}{tail}"));
    let before = lead.len() + place - from;
    let under = marked.min(room.saturating_sub(before)).max(1);
    sheet.line(format!("      | {}{}", " ".repeat(before), "^".repeat(under)));
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]
    use super::*;
    use crate::output::samples::assert_screen;

    #[test]
    fn each_mistake_has_its_line_underlined() {
        let long = format!("members = [ {} {{ tag = \"B1\", stok = \"45x70\" }}, {} ]", "x".repeat(90), "y".repeat(90));
        let text = format!("format = 1\nname = 3\n{long}\n");
        let stok = text.find("stok").unwrap();
        let list = [
            Mistake {
                line: 2,
                column: 8,
                span: 18..19,
                message: "a text is wanted here, not the number 3".into(),
                mend: Some("put it in quotes: \"3\"".into()),
                path: "name".into(),
            },
            Mistake {
                line: 3,
                column: long.find("stok").unwrap() + 1,
                span: stok..stok + 4,
                message: "`stok` is no key of a member".into(),
                mend: Some("perhaps `stock` was meant".into()),
                path: "members[0].stok".into(),
            },
        ];
        assert_screen("mistakes", &mistakes("frame.toml", &text, &list, 80));
    }
}
