//! Text to a spanned document, and the parser's complaints in plain words.

use crate::desk::{Desk, Draft};
use crate::lines::boundary;
use std::ops::Range;
use toml::de::{DeTable, DeValue, Error};

/// Parses the text. With complaints of another kind than a doubled key the document can't be relied on: `None`.
pub(crate) fn parse<'t>(desk: &mut Desk<'t>) -> Option<DeTable<'t>> {
    let (document, errors) = DeTable::parse_recoverable(desk.text);
    let document = document.into_inner();
    let mut sound = true;
    let mut last_line = 0;
    let mut first_keys = None;
    for error in &errors {
        let span = span(desk.text, error);
        if error.message().starts_with("duplicate key") {
            let keys = first_keys.get_or_insert_with(|| key_spans(&document));
            doubled(desk, &span, keys);
            continue;
        }
        sound = false;
        // What follows on a line after its first fault is mostly an echo of it.
        let line = desk.line(&span);
        if line != last_line {
            last_line = line;
            let (message, mend) = words(desk, error, &span);
            desk.say(Draft { span, path: String::new(), message, mend });
        }
    }
    sound.then_some(document)
}

fn span(text: &str, error: &Error) -> Range<usize> {
    let span = error.span().unwrap_or(0..0);
    let start = boundary(text, span.start);
    start..boundary(text, span.end.max(start))
}

/// Every key of the document, by its place.
fn key_spans(document: &DeTable<'_>) -> Vec<(usize, String)> {
    fn walk(value: &DeValue<'_>, keys: &mut Vec<(usize, String)>) {
        match value {
            DeValue::Table(table) => walk_table(table, keys),
            DeValue::Array(items) => items.iter().for_each(|item| walk(item.get_ref(), keys)),
            _ => {}
        }
    }
    fn walk_table(table: &DeTable<'_>, keys: &mut Vec<(usize, String)>) {
        for (key, value) in table {
            keys.push((key.span().start, key.get_ref().to_string()));
            walk(value.get_ref(), keys);
        }
    }
    let mut keys = Vec::new();
    walk_table(document, &mut keys);
    keys.sort_unstable();
    keys
}

/// Line of the first heading that reads like the one at `at`; `None` where `at` is not in a heading.
fn first_heading(text: &str, at: usize) -> Option<usize> {
    let heading = |line: &str| Some(line.trim_start().strip_prefix('[')?.split(']').next()?.to_owned());
    let start = text[..at].rfind('\n').map_or(0, |end| end + 1);
    let doubled = heading(text.get(start..)?.lines().next()?)?;
    let first = text[..start].lines().position(|line| heading(line).is_some_and(|first| first == doubled))?;
    Some(first + 1)
}

/// Line of the key or heading that this one doubles.
fn first_line(desk: &Desk<'_>, span: &Range<usize>, name: &str, keys: &[(usize, String)]) -> Option<usize> {
    // The search may pass over the whole text: past the first mistakes it is left out.
    if !desk.suggests() {
        return None;
    }
    if let Some(line) = first_heading(desk.text, span.start) {
        return Some(line);
    }
    let before = keys[..keys.partition_point(|(start, _)| *start < span.start)].iter();
    let (start, _) = before.rev().find(|(_, key)| key == name)?;
    // A heading in between: then the nearest key of that name is of another table.
    let between = desk.text.get(*start..span.start)?;
    let heading = between.lines().skip(1).any(|line| line.trim_start().starts_with('['));
    (!heading).then(|| desk.lines.line(*start))
}

fn doubled(desk: &mut Desk<'_>, span: &Range<usize>, keys: &[(usize, String)]) {
    let quoted = desk.quote(span);
    let name = quoted.trim_matches(['"', '\'']);
    let first = first_line(desk, span, name, keys);
    let message = first.map_or_else(
        || format!("`{name}` stands twice in the same table"),
        |line| format!("`{name}` stands twice in the same table, first on line {line}"),
    );
    desk.say(Draft::new(span.clone(), "", message).mend("take one of the two out"));
}

/// The parser's complaint in a builder's words. What is not listed keeps the parser's own.
fn words(desk: &Desk<'_>, error: &Error, span: &Range<usize>) -> (String, Option<String>) {
    let said = error.message();
    let here = desk.quote(span);
    let is = |start: &str| said.starts_with(start);
    let (message, mend) = if let Some(words) = bare_value(desk, said, &here, span) {
        words
    } else if is("string values must be quoted") {
        (format!("`{here}` is a text without quotes"), format!("write \"{}\"", here.trim_end_matches(" ...")))
    } else if is("unclosed table") || is("unclosed array table") {
        ("this table's heading is not closed".into(), "end it with `]`, or `]]` where it began with `[[`".into())
    } else if is("unclosed array") {
        ("this list is not closed".into(), "end it with `]`".into())
    } else if is("unclosed inline table") {
        ("this table is not closed".into(), "end it with `}`".into())
    } else if is("missing comma") {
        (format!("a comma is missing{}", before(&here)), "put a comma between two items".into())
    } else if is("extra comma") {
        ("there is a comma too many here".into(), "take it out".into())
    } else if is("extra `=`") || is("extra assignment") || is("unexpected `=`") {
        ("there is a `=` too many here".into(), "one key and one value a line".into())
    } else if is("missing assignment") || is("key with no value") {
        (format!("a `=` is missing{}", before(&here)), "write `key = value`".into())
    } else if is("missing value") {
        ("there is no value after `=`".into(), "write `key = value`".into())
    } else if is("invalid basic string") || is("invalid literal string") || is("invalid multi-line") {
        match here.as_str() {
            "" => ("the quotes of this text are not closed".into(), "end it with the quote it begins with".into()),
            _ => (format!("`{here}` can't stand in this text"), "write it as an escape, such as `\\u0041`".into()),
        }
    } else if is("missing opening quote") {
        (format!("`{here}` has a quote at its end and none in front"), "write a quote in front".into())
    } else if is("missing escaped value") || is("too few unicode") {
        (
            "a `\\` in a text must be followed by one of b e f n r t \" \\ x u U".into(),
            "write `\\\\` for the sign itself".into(),
        )
    } else if is("unexpected leading zero") || is("redundant") || is("unexpected sign") {
        (format!("`{here}` is not a way to write a number"), "write it plainly, such as 45 or 4.5".into())
    } else if is("invalid unquoted key") || is("unquoted keys cannot be empty") {
        (format!("`{here}` is no name of a key"), "keys are of letters, digits, `-` and `_`".into())
    } else if is("invalid comment character") {
        ("a comment has a character that can't be printed".into(), "take it out".into())
    } else if is("carriage return must be followed") {
        ("a line ends with a bare carriage return".into(), "save the file with ordinary line ends".into())
    } else if is("unexpected key or value") || is("unexpected content") {
        (format!("`{here}` stands where the line should end"), "one key and one value a line".into())
    } else {
        (format!("this is not sound TOML: {said}"), String::new())
    };
    (message, (!mend.is_empty()).then_some(mend))
}

fn before(here: &str) -> String {
    if here.trim().is_empty() { " here".to_owned() } else { format!(" before `{here}`") }
}

/// What the parser takes for a text without quotes or for something behind a value, and is neither: nothing at all,
/// two numbers, a decimal comma.
fn bare_value(desk: &Desk<'_>, said: &str, here: &str, span: &Range<usize>) -> Option<(String, String)> {
    let unquoted = said.starts_with("string values must be quoted");
    let behind = said.starts_with("unexpected key or value") || said.starts_with("unexpected content");
    let rest = desk.text.get(span.start..)?;
    if unquoted && here.is_empty() {
        return Some(("there is no value after `=`".into(), "write `key = value`".into()));
    }
    let words: Vec<&str> = here.split_whitespace().collect();
    if unquoted && words.len() > 1 && words.iter().all(|word| word.parse::<f64>().is_ok()) {
        return Some((format!("`{here}` is more than one number"), "put a comma between two items".into()));
    }
    let digits = |text: &str| text.chars().take_while(char::is_ascii_digit).count();
    let whole = desk.text.get(..span.start)?;
    let front = whole.len() - whole.trim_end_matches(|c: char| c.is_ascii_digit()).len();
    if behind && front > 0 && rest.starts_with(',') && digits(&rest[1..]) > 0 {
        let (number, fraction) = (&whole[whole.len() - front..], &rest[1..=digits(&rest[1..])]);
        let message = format!("`{number},{fraction}` has a comma in its number");
        return Some((message, format!("write a point: `{number}.{fraction}`")));
    }
    let value = rest.lines().next().unwrap_or("").trim();
    (behind && here.is_empty() && !value.is_empty()).then(|| {
        (
            format!("`{}` stands where the line should end", crate::lines::shorten(value)),
            "one key and one value a line".into(),
        )
    })
}
