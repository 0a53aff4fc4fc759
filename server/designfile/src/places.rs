//! From field paths of the typed design back to the text.

use crate::lines::Lines;
use std::collections::BTreeMap;
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// A place in the text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// Bytes.
    pub span: Range<usize>,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
}

/// The item of the file that a typed item was expanded from, and the narrower place of some of its fields.
#[derive(Clone, Debug, Default)]
pub(crate) struct Origin {
    pub(crate) item: usize,
    pub(crate) picks: Vec<(&'static str, Option<usize>, Range<usize>)>,
}

impl Origin {
    pub(crate) fn new(item: usize) -> Self {
        Self { item, picks: Vec::new() }
    }
}

/// Where in the text each part of a design stands.
#[derive(Clone, Debug)]
pub struct Places {
    text: String,
    lines: Lines,
    /// By the file's own paths (`members[0].from[2]`).
    spans: BTreeMap<String, Range<usize>>,
    origins: BTreeMap<&'static str, Vec<Origin>>,
}

/// Names of the typed design that differ from the file's by more than a unit.
const RENAMED: [(&str, &str); 15] = [
    ("settings", "check"),
    ("grading", "grade"),
    ("price_per_m", "price"),
    ("grain_across", "grain"),
    ("start_n_mm", "line"),
    ("end_n_mm", "line_end"),
    ("contact_mm", "bearing"),
    ("road_g", "road"),
    ("through_depth", "through"),
    ("given[0]", "x"),
    ("given[1]", "y"),
    ("given[2]", "z"),
    ("given[3]", "turn_x"),
    ("given[4]", "turn_y"),
    ("given[5]", "turn_z"),
];

const UNIT_SUFFIXES: [&str; 9] = ["_n_mm2", "_n_mm", "_kg_m3", "_mm2", "_mm3", "_mm4", "_mm", "_deg", "_kg"];

impl Places {
    pub(crate) fn new(text: &str, lines: Lines, document: &DeTable<'_>) -> Self {
        let mut spans = BTreeMap::new();
        walk_table("", document, &mut spans);
        Self { text: text.to_owned(), lines, spans, origins: BTreeMap::new() }
    }

    pub(crate) fn set_origins(&mut self, collection: &'static str, origins: Vec<Origin>) {
        self.origins.insert(collection, origins);
    }

    /// The place of the nearest thing in the text to a field path of the design (`members[3].stock`, with or without
    /// units in the names): the value itself, else the table it would stand in, else the start of the text.
    pub fn find(&self, path: &str) -> Place {
        let span = self.span(path);
        let (line, column) = self.lines.place(&self.text, span.start);
        Place { span, line, column }
    }

    /// Index of the file's item that a typed item was expanded from: `("members", 3)` is of a row, say, the first.
    pub fn item(&self, collection: &str, index: usize) -> Option<usize> {
        self.origins.get(collection)?.get(index).map(|origin| origin.item)
    }

    /// The text the places are of.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Byte span of a path of the file's own keys.
    pub(crate) fn of_file(&self, path: &str) -> Option<Range<usize>> {
        self.spans.get(path).cloned()
    }

    /// Last byte of anything that stands in a table of the file (its heading's span is only the heading).
    pub(crate) fn end_of(&self, path: &str) -> Option<usize> {
        let inside = |(key, _): &(&String, _)| {
            key.strip_prefix(path).is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
        };
        self.spans
            .range(path.to_owned()..)
            .take_while(|(key, _)| key.starts_with(path))
            .filter(inside)
            .map(|(_, span)| span.end)
            .max()
    }

    fn span(&self, path: &str) -> Range<usize> {
        let mut segments = path.split('.').filter(|segment| !segment.is_empty());
        let Some(head) = segments.next() else { return 0..0 };
        let (name, index) = split_index(head);
        let rest: Vec<&str> = segments.collect();
        let (mut root, origin) = match (self.origins.get(name), index) {
            (Some(origins), Some(index)) => match origins.get(index) {
                Some(origin) => (format!("{name}[{}]", origin.item), Some(origin)),
                None => (name.to_owned(), None),
            },
            _ => (head.to_owned(), None),
        };
        if let Some(file) = self.child("", &root) {
            root = file;
        }
        if let Some(span) = origin.and_then(|origin| pick(origin, rest.first().copied()?)) {
            return span;
        }
        let mut best = root.clone();
        for segment in &rest {
            // A name that only the typed design has (`what`, `surface`, `rectangle`) is passed over.
            if let Some(next) = self.child(&best, segment).or_else(|| self.child(&root, segment)) {
                best = next;
            }
        }
        self.of_file(&best).or_else(|| self.of_file(name)).unwrap_or(0..0)
    }

    /// The file path of a typed field below another path, if the file has it.
    fn child(&self, parent: &str, segment: &str) -> Option<String> {
        let at = |name: &str| if parent.is_empty() { name.to_owned() } else { format!("{parent}.{name}") };
        let known = |path: String| self.spans.contains_key(&path).then_some(path);
        let (name, index) = split_index(segment);
        let renamed = RENAMED.iter().find(|(typed, _)| *typed == segment || *typed == name).map(|(_, file)| *file);
        let plain = UNIT_SUFFIXES.iter().find_map(|suffix| name.strip_suffix(suffix)).unwrap_or(name);
        let indexed = |name: &str| index.and_then(|index| known(at(&format!("{name}[{index}]"))));
        known(at(segment))
            .or_else(|| indexed(renamed?))
            .or_else(|| known(at(renamed?)))
            .or_else(|| indexed(plain))
            .or_else(|| known(at(plain)))
    }
}

fn pick(origin: &Origin, segment: &str) -> Option<Range<usize>> {
    let (name, index) = split_index(segment);
    let plain = name.strip_suffix("_mm").unwrap_or(name);
    let found = origin.picks.iter().find(|(field, at, _)| *field == plain && *at == index);
    found.map(|(_, _, span)| span.clone())
}

/// `members[3]` to (`members`, 3).
fn split_index(segment: &str) -> (&str, Option<usize>) {
    let split = segment.strip_suffix(']').and_then(|open| open.split_once('['));
    split.and_then(|(name, index)| Some((name, Some(index.parse().ok()?)))).unwrap_or((segment, None))
}

fn walk_table(path: &str, table: &DeTable<'_>, spans: &mut BTreeMap<String, Range<usize>>) {
    for (key, value) in table {
        let path = if path.is_empty() { key.get_ref().to_string() } else { format!("{path}.{}", key.get_ref()) };
        walk(path, value.get_ref(), value.span(), spans);
    }
}

fn walk(path: String, value: &DeValue<'_>, span: Range<usize>, spans: &mut BTreeMap<String, Range<usize>>) {
    match value {
        DeValue::Table(table) => walk_table(&path, table, spans),
        DeValue::Array(items) => {
            for (index, item) in items.iter().enumerate() {
                walk(format!("{path}[{index}]"), item.get_ref(), item.span(), spans);
            }
        }
        _ => {}
    }
    spans.insert(path, span);
}
