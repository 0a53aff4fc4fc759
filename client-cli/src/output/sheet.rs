//! Lines of text kept within the width of the screen.

use std::fmt;

/// Widest line this command ever prints, unless a single word (a path, a code) is longer.
pub const WIDEST: usize = 80;

/// Lines gathered for one screen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sheet {
    width: usize,
    lines: Vec<String>,
}

impl Sheet {
    /// An empty screen of that many columns (at least 40, at most [`WIDEST`]).
    pub fn new(width: usize) -> Self {
        Self { width: width.clamp(40, WIDEST), lines: Vec::new() }
    }

    /// Columns a line may have.
    pub fn width(&self) -> usize {
        self.width
    }

    /// How many lines there are so far.
    pub fn len(&self) -> usize {
        self.lines.len()
    }

    /// True when nothing was written yet.
    pub fn is_empty(&self) -> bool {
        self.lines.is_empty()
    }

    /// One line as it is (drawings, tables).
    pub fn line(&mut self, text: impl Into<String>) {
        self.lines.push(text.into().trim_end().to_owned());
    }

    /// An empty line.
    pub fn blank(&mut self) {
        self.lines.push(String::new());
    }

    /// A paragraph, broken between words.
    pub fn paragraph(&mut self, text: &str) {
        self.hanging("", text);
    }

    /// A paragraph that begins with `label`; its further lines are set in below the text.
    pub fn hanging(&mut self, label: &str, text: &str) {
        let inset = " ".repeat(label.chars().count());
        for (index, line) in wrap(text, self.width.saturating_sub(inset.len()).max(16)).into_iter().enumerate() {
            let lead = if index == 0 { label } else { &inset };
            self.line(format!("{lead}{line}"));
        }
    }

    /// Every line of another screen, set in.
    pub fn append(&mut self, inset: usize, other: &Self) {
        for line in &other.lines {
            self.line(format!("{}{line}", " ".repeat(inset)));
        }
    }

    /// The lines.
    pub fn lines(&self) -> &[String] {
        &self.lines
    }
}

impl fmt::Display for Sheet {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.lines.iter().try_for_each(|line| writeln!(f, "{line}"))
    }
}

/// Breaks text between words. Spaces that belong to a figure (`71 %`, `4 mm`) are written as no-break spaces by
/// [`figures`](super::figures) and come out as plain ones.
pub fn wrap(text: &str, width: usize) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split([' ', '\n']).filter(|word| !word.is_empty()) {
        let joined = line.chars().count() + 1 + word.chars().count();
        if !line.is_empty() && joined > width {
            lines.push(std::mem::take(&mut line));
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    lines.push(line);
    lines.into_iter().map(|line| line.replace('\u{a0}', " ")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_stay_whole_and_figures_keep_their_unit() {
        assert_eq!(wrap("it takes 71\u{a0}% of it", 11), ["it takes", "71 % of it"]);
        assert_eq!(wrap("", 10), [""]);
        assert_eq!(wrap("averyveryverylongword x", 6), ["averyveryverylongword", "x"]);
    }

    #[test]
    fn a_hanging_paragraph_is_set_in_below_its_text() {
        let mut sheet = Sheet::new(40);
        sheet.hanging("Assumed: ", "C16 timber, 100 kg a person, deck screwed down");
        assert_eq!(sheet.to_string(), "Assumed: C16 timber, 100 kg a person,\n         deck screwed down\n");
    }
}
