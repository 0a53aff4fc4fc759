//! Byte offsets to lines and columns.

use std::ops::Range;

const BOM: char = '\u{feff}';

/// Starts of the lines of a text.
#[derive(Clone, Debug)]
pub(crate) struct Lines(Vec<usize>);

impl Lines {
    pub(crate) fn new(text: &str) -> Self {
        let ends = text.bytes().enumerate().filter(|(_, byte)| *byte == b'\n').map(|(at, _)| at + 1);
        Self(std::iter::once(0).chain(ends).collect())
    }

    /// Line of a byte, from 1.
    pub(crate) fn line(&self, at: usize) -> usize {
        self.0.partition_point(|start| *start <= at).max(1)
    }

    /// Line and column (characters) of a byte, both from 1. A byte order mark takes no column.
    pub(crate) fn place(&self, text: &str, at: usize) -> (usize, usize) {
        let at = boundary(text, at);
        let line = self.line(at);
        let start = self.0.get(line - 1).copied().unwrap_or(0);
        let before = text.get(start..at).unwrap_or("");
        (line, before.chars().filter(|c| *c != BOM).count() + 1)
    }
}

/// The nearest character boundary at or before a byte.
pub(crate) fn boundary(text: &str, at: usize) -> usize {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// The text of a span on one line, at most 40 characters, for quoting.
pub(crate) fn quote(text: &str, span: &Range<usize>) -> String {
    let slice = text.get(boundary(text, span.start)..boundary(text, span.end)).unwrap_or("");
    shorten(slice)
}

/// At most 40 characters of one line, for quoting; unprintable characters are written out.
pub(crate) fn shorten(slice: &str) -> String {
    let line = slice.lines().next().unwrap_or("");
    let mut out = String::new();
    for (count, c) in line.chars().enumerate() {
        if count == 40 {
            break;
        }
        if c.is_control() { out.extend(c.escape_default()) } else { out.push(c) }
    }
    if out.len() < slice.len() && (line.len() < slice.len() || line.chars().count() > 40) {
        out.push_str(" ...");
    }
    out
}
