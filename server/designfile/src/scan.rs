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
                return Err(not_utf8(bytes, at, format!("from here on the file is not UTF-8 text (byte 0x{byte:02x})")));
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
        desk.say(Draft::new(at..at + 1, "", "the file has a NUL byte here").mend("take it out: a design file is plain text"));
        return;
    }
    if let Some((at, dotted)) = too_deep(desk.text.as_bytes()) {
        let what = if dotted { "a key has more than" } else { "lists and tables are nested deeper than" };
        let tail = if dotted { " dotted parts" } else { "" };
        desk.say(Draft::new(at..at + 1, "", format!("{what} {NESTING_LIMIT}{tail} here")));
    }
}

/// First byte that opens the nesting level over the limit, or the dot over it (true). Strings and comments are skipped
/// by the rules of the parser's own lexer, so that both see the same brackets.
fn too_deep(text: &[u8]) -> Option<(usize, bool)> {
    let (mut at, mut depth, mut dots) = (0, 0_usize, 0_usize);
    while let Some(&byte) = text.get(at) {
        match byte {
            b'[' | b'{' => {
                depth += 1;
                dots = 0;
                if depth > NESTING_LIMIT {
                    return Some((at, false));
                }
            }
            b']' | b'}' => {
                depth = depth.saturating_sub(1);
                dots = 0;
            }
            b'=' | b',' | b'\n' => dots = 0,
            b'.' => {
                dots += 1;
                if dots > NESTING_LIMIT {
                    return Some((at, true));
                }
            }
            b'#' => {
                at = find(text, at, |rest| matches!(rest.first(), Some(b'\n' | b'\r')));
                continue;
            }
            b'\'' | b'"' => {
                at = after_string(text, at);
                continue;
            }
            b' ' | b'\t' | b'\r' => {}
            // Quotes inside a bare word open no string.
            _ => {
                at = find(text, at, |rest| rest.first().is_some_and(|b| b".=,[]{} \t#\r\n".contains(b)));
                continue;
            }
        }
        at += 1;
    }
    None
}

fn find(text: &[u8], from: usize, stop: impl Fn(&[u8]) -> bool) -> usize {
    (from..text.len()).find(|at| stop(&text[*at..])).unwrap_or(text.len())
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
    use super::too_deep;

    #[test]
    fn brackets_count_outside_strings_and_comments_only() {
        assert_eq!(too_deep("[".repeat(16).as_bytes()), None);
        assert_eq!(too_deep("[".repeat(17).as_bytes()), Some((16, false)));
        let hidden = "[".repeat(40);
        for text in [format!("a = \"{hidden}\""), format!("a = '{hidden}'"), format!("# {hidden}"), format!("'''{hidden}'''")] {
            assert_eq!(too_deep(text.as_bytes()), None, "{text}");
        }
        assert_eq!(too_deep(format!("a = \"\\\"{hidden}\"").as_bytes()), None);
        assert_eq!(too_deep(format!("a = x\"{hidden}").as_bytes()), Some((22, false)));
        assert_eq!(too_deep(format!("a = \"unclosed\n{hidden}").as_bytes()), Some((30, false)));
        assert_eq!(too_deep("a.".repeat(17).as_bytes()), Some((33, true)));
        assert_eq!(too_deep("x = [1.5, 2.5, ".repeat(16).as_bytes()), None);
    }
}
