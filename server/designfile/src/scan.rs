//! What is looked at before the text is parsed, in one pass: length, encoding, unprintable bytes, nesting.

use crate::desk::{Desk, Draft};
use crate::mistake::Mistake;
use crate::{NESTING_LIMIT, TEXT_LIMIT};

/// The text of a file's bytes.
pub(crate) fn utf8(bytes: &[u8]) -> Result<&str, Vec<Mistake>> {
    too_long(bytes.len())?;
    let message = match bytes {
        [0xff, 0xfe, ..] | [0xfe, 0xff, ..] => "the file is UTF-16 text, not UTF-8".to_owned(),
        _ => match std::str::from_utf8(bytes) {
            Ok(text) => return Ok(text),
            Err(error) => {
                let at = error.valid_up_to();
                let byte = bytes.get(at).copied().unwrap_or(0);
                return Err(not_utf8(
                    bytes,
                    at,
                    format!("from here on the file is not UTF-8 text (byte 0x{byte:02x})"),
                ));
            }
        },
    };
    Err(not_utf8(bytes, 0, message))
}

fn not_utf8(bytes: &[u8], at: usize, message: String) -> Vec<Mistake> {
    let text = std::str::from_utf8(bytes.get(..at).unwrap_or(&[])).unwrap_or("");
    let mut desk = Desk::new(text);
    desk.say(Draft::new(at..at, "", message).mend("save it as UTF-8 in your editor"));
    let mut mistakes = desk.mistakes();
    for mistake in &mut mistakes {
        mistake.span = at..(at + 1).min(bytes.len());
    }
    mistakes
}

/// Refuses a text over the limit without looking at it.
pub(crate) fn too_long(length: usize) -> Result<(), Vec<Mistake>> {
    if length <= TEXT_LIMIT {
        return Ok(());
    }
    let message = format!("the file has {length} bytes, at most {TEXT_LIMIT} (256 kB) are read");
    Err(vec![Mistake { line: 1, column: 1, span: 0..0, message, mend: None, path: String::new() }])
}

/// Refuses unprintable bytes and nesting that the parser should never see.
pub(crate) fn text(desk: &mut Desk<'_>) {
    if let Some(at) = desk.text.bytes().position(|byte| byte == 0) {
        desk.say(
            Draft::new(at..at + 1, "", "the file has a NUL byte here").mend("take it out: a design file is plain text"),
        );
        return;
    }
    if let Some((at, dotted)) = too_deep(desk.text.as_bytes()) {
        let what = if dotted { "a key has more than" } else { "lists and tables are nested deeper than" };
        let tail = if dotted { " dotted parts" } else { "" };
        desk.say(Draft::new(at..at + 1, "", format!("{what} {NESTING_LIMIT}{tail} here")));
        return;
    }
    if let Some(at) = unclosed_list(desk.text.as_bytes()) {
        let message = "this list is not closed, or one of its tables has no braces";
        desk.say(
            Draft::new(at..at + 1, "", message).mend("end a list with `]`, and put `{` and `}` around a table in it"),
        );
    }
}

/// The bytes of a text that stand in no string, comment or bare word, by the rules of the parser's own lexer, so that
/// both see the same brackets.
struct Signs<'t> {
    text: &'t [u8],
    at: usize,
}

impl Iterator for Signs<'_> {
    type Item = (usize, u8);

    fn next(&mut self) -> Option<Self::Item> {
        loop {
            let at = self.at;
            match *self.text.get(at)? {
                b'#' => self.at = find(self.text, at, |byte| matches!(byte, b'\n' | b'\r')),
                b'\'' | b'"' => self.at = after_string(self.text, at),
                byte if WORD_ENDS.contains(&byte) => {
                    self.at += 1;
                    return Some((at, byte));
                }
                // Quotes inside a bare word open no string.
                _ => self.at = find(self.text, at, |byte| WORD_ENDS.contains(&byte)),
            }
        }
    }
}

const WORD_ENDS: &[u8] = b".=,[]{} \t#\r\n";

/// First byte that opens the nesting level over the limit, or the dot over it (true).
fn too_deep(text: &[u8]) -> Option<(usize, bool)> {
    let (mut depth, mut dots) = (0_usize, 0_usize);
    for (at, sign) in (Signs { text, at: 0 }) {
        match sign {
            b'[' | b'{' => depth += 1,
            b']' | b'}' => depth = depth.saturating_sub(1),
            b'.' => dots += 1,
            _ => {}
        }
        if matches!(sign, b'[' | b'{' | b']' | b'}' | b'=' | b',' | b'\n') {
            dots = 0;
        }
        if depth > NESTING_LIMIT || dots > NESTING_LIMIT {
            return Some((at, dots > NESTING_LIMIT));
        }
    }
    None
}

/// The bracket of a list that has a `=` in it: the parser would complain of each line that follows.
fn unclosed_list(text: &[u8]) -> Option<usize> {
    let mut open: Vec<(usize, u8)> = Vec::new();
    let (mut heading, mut line_is_blank) = (false, true);
    for (at, sign) in (Signs { text, at: 0 }) {
        match sign {
            b'\n' => {
                // A heading ends with its line, closed or not; the parser says so.
                if heading {
                    open.clear();
                    heading = false;
                }
                line_is_blank = true;
                continue;
            }
            b'[' | b'{' => {
                heading |= open.is_empty() && line_is_blank && is_line_start(text, at);
                open.push((at, sign));
            }
            b']' | b'}' => drop(open.pop()),
            b'=' => {
                if let Some((at, b'[')) = open.last()
                    && !heading
                {
                    return Some(*at);
                }
            }
            _ => continue,
        }
        line_is_blank = false;
    }
    None
}

/// Whether nothing but blanks stands before a byte on its line.
fn is_line_start(text: &[u8], at: usize) -> bool {
    text[..at].iter().rev().take_while(|byte| **byte != b'\n').all(|byte| matches!(byte, b' ' | b'\t'))
}

fn find(text: &[u8], from: usize, stop: impl Fn(u8) -> bool) -> usize {
    text.iter().skip(from).position(|byte| stop(*byte)).map_or(text.len(), |past| from + past)
}

/// Byte after the string that opens at `at`; an unclosed one ends with its line, or with the text if it has three quotes.
fn after_string(text: &[u8], at: usize) -> usize {
    let quote = text[at];
    let long = text[at..].starts_with(&[quote; 3]);
    let mut next = at + if long { 3 } else { 1 };
    while let Some(&byte) = text.get(next) {
        if byte == b'\\' && quote == b'"' {
            next += if matches!(text.get(next + 1), Some(b'\\' | b'"')) { 2 } else { 1 };
        } else if long && text[next..].starts_with(&[quote; 3]) {
            let more = text[next + 3..].iter().take(2).take_while(|byte| **byte == quote).count();
            return next + 3 + more;
        } else if !long && byte == quote {
            return next + 1;
        } else if !long && byte == b'\n' {
            return next;
        } else {
            next += 1;
        }
    }
    text.len()
}

#[cfg(test)]
mod tests {
    use super::{too_deep, unclosed_list};

    #[test]
    fn brackets_count_outside_strings_and_comments_only() {
        assert_eq!(too_deep("[".repeat(16).as_bytes()), None);
        assert_eq!(too_deep("[".repeat(17).as_bytes()), Some((16, false)));
        let hidden = "[".repeat(40);
        for text in
            [format!("a = \"{hidden}\""), format!("a = '{hidden}'"), format!("# {hidden}"), format!("'''{hidden}'''")]
        {
            assert_eq!(too_deep(text.as_bytes()), None, "{text}");
        }
        assert_eq!(too_deep(format!("a = \"\\\"{hidden}\"").as_bytes()), None);
        assert_eq!(too_deep(format!("a = x\"{hidden}").as_bytes()), Some((22, false)));
        assert_eq!(too_deep(format!("a = \"unclosed\n{hidden}").as_bytes()), Some((30, false)));
        assert_eq!(too_deep("a.".repeat(17).as_bytes()), Some((33, true)));
        assert_eq!(too_deep("x = [1.5, 2.5, ".repeat(16).as_bytes()), None);
    }
    #[test]
    fn a_list_with_an_equals_sign_is_not_closed() {
        assert_eq!(unclosed_list(b"a = [1, 2]\nb = [{ c = 1 }, { c = [2] }]\n[d]\ne = 1\n[[f]]\ng = 1\n"), None);
        assert_eq!(unclosed_list(b"a = [1, 2\nb = 3\n"), Some(4));
        assert_eq!(unclosed_list(b"a = [\n  { b = [1, c = 2 },\n]\n"), Some(14));
        assert_eq!(unclosed_list(b"a = [\n  [1, 2],\n  [3, 4],\n]\nb = 1\n"), None);
        // the parser's business
        assert_eq!(unclosed_list(b"[[a]\nb = 1\n"), None);
        assert_eq!(unclosed_list(b"a = [1, 2\n"), None);
    }
}
