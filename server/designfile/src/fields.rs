//! A table of the file as a set of named fields: known, wanted, missing.

use crate::desk::{Desk, Draft};
use crate::unit::Kind;
use crate::value::Node;
use battenboard_engine::nearest::nearest;
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// One table under reading.
pub(crate) struct Fields<'a> {
    table: &'a DeTable<'a>,
    /// Its heading, or the whole of it where it stands in one line.
    pub(crate) span: Range<usize>,
    pub(crate) path: String,
    /// In words: `a member`.
    what: &'static str,
    /// Known keys that unknown ones were probably meant to be: not missed once more.
    meant: Vec<String>,
}

impl<'a> Fields<'a> {
    /// The fields of the document itself.
    pub(crate) fn root(desk: &mut Desk<'_>, table: &'a DeTable<'a>, known: &[&str]) -> Self {
        let mut fields = Self { table, span: 0..0, path: String::new(), what: "a design file", meant: Vec::new() };
        fields.refuse_unknown(desk, known);
        fields
    }

    /// The fields of a table; unknown ones are said. `None` (said too) where it is no table.
    pub(crate) fn open(desk: &mut Desk<'_>, node: &Node<'a>, what: &'static str, known: &[&str]) -> Option<Self> {
        let DeValue::Table(table) = node.value else {
            let draft = node.mismatch(desk, &format!("is {what}, written as a table"));
            desk.say(draft.mend(format!("keys of {what}: {}", known.join(", "))));
            return None;
        };
        let (span, path) = (node.span.clone(), node.path.clone());
        let mut fields = Self { table, span, path, what, meant: Vec::new() };
        fields.refuse_unknown(desk, known);
        Some(fields)
    }

    fn refuse_unknown(&mut self, desk: &mut Desk<'_>, known: &[&str]) {
        for (key, _) in self.table {
            let name: &str = key.get_ref();
            if known.contains(&name) {
                continue;
            }
            let message = format!("`{}` is no key of {}", crate::lines::shorten(name), self.what);
            let mend = match nearest(name, known.iter().copied()) {
                Some(near) => {
                    self.meant.push(near.to_owned());
                    format!("perhaps `{near}` was meant")
                }
                None => format!("known here: {}", known.join(", ")),
            };
            desk.say(Draft::new(key.span(), self.at(name), message).mend(mend));
        }
    }

    fn at(&self, key: &str) -> String {
        if self.path.is_empty() { key.to_owned() } else { format!("{}.{key}", self.path) }
    }

    pub(crate) fn has(&self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    /// Whether a key is there under a mistyped name.
    pub(crate) fn is_meant(&self, key: &str) -> bool {
        self.meant.iter().any(|meant| meant == key)
    }

    /// Whether a list has entries that could not be read at all: mistyped, no list, too long. An empty list has none.
    pub(crate) fn is_unread(&self, key: &str, read: usize) -> bool {
        let empty = |node: Node<'_>| matches!(node.value, DeValue::Array(items) if items.is_empty());
        self.is_meant(key) || (read == 0 && self.get(key).is_some_and(|node| !empty(node)))
    }

    pub(crate) fn get(&self, key: &str) -> Option<Node<'a>> {
        let value = self.table.get(key)?;
        Some(Node { value: value.get_ref(), span: value.span(), path: self.at(key) })
    }

    /// A field that must be there; said with an example where it is not.
    pub(crate) fn need(&self, desk: &mut Desk<'_>, key: &str, example: &str) -> Option<Node<'a>> {
        let node = self.get(key);
        if node.is_none() && !self.is_meant(key) {
            let message = format!("{} needs `{key}`", self.what);
            desk.say(Draft::new(self.span.clone(), self.at(key), message).mend(format!("such as `{key} = {example}`")));
        }
        node
    }

    pub(crate) fn number(&self, desk: &mut Desk<'_>, key: &str, kind: Kind) -> Option<f64> {
        self.get(key)?.number(desk, kind)
    }

    pub(crate) fn need_number(&self, desk: &mut Desk<'_>, key: &str, kind: Kind, example: &str) -> f64 {
        self.need(desk, key, example).and_then(|node| node.number(desk, kind)).unwrap_or_default()
    }

    pub(crate) fn text(&self, desk: &mut Desk<'_>, key: &str) -> Option<String> {
        self.get(key)?.text(desk)
    }

    pub(crate) fn need_text(&self, desk: &mut Desk<'_>, key: &str, example: &str) -> String {
        self.need(desk, key, example).and_then(|node| node.text(desk)).unwrap_or_default()
    }

    /// The tables of a `[[key]]`, or of a list of tables; at most `limit` (over it is said, and none is read).
    pub(crate) fn tables(&self, desk: &mut Desk<'_>, key: &'static str, limit: usize) -> Vec<Node<'a>> {
        let Some(node) = self.get(key) else { return Vec::new() };
        let DeValue::Array(items) = node.value else {
            let draft = Draft::new(node.span.clone(), key, format!("`{key}` is a list of tables, here is only one"));
            desk.say(draft.mend(format!("write `[[{key}]]` with two brackets on each side")));
            return Vec::new();
        };
        if items.len() > limit {
            let span = items.get(limit).map_or(node.span.clone(), toml::Spanned::span);
            let message = format!("there are {} entries of `{key}`, at most {limit} are read", items.len());
            desk.say(Draft::new(span, key, message));
            return Vec::new();
        }
        node.items(desk, "tables")
    }
}
