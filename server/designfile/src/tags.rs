//! The tags of a design, and what a tag, a pattern or a list of those stands for.

use crate::desk::{Desk, Draft};
use crate::lines::shorten;
use crate::pattern::{fits, is_sound, prefix, without_number};
use crate::value::Node;
use battenboard_engine::design::Member;
use battenboard_engine::nearest::nearest;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::rc::Rc;
use toml::de::DeValue;

/// Members looked up by all patterns of a file together; a file of honest size needs a few thousand.
const LOOKUPS: usize = 2_000_000;

/// A member that was named, and where.
#[derive(Clone, Debug)]
pub(crate) struct Picked {
    pub(crate) member: usize,
    pub(crate) span: Range<usize>,
}

/// Tags of members and decks (one name space: gear lies on either).
#[derive(Default)]
pub(crate) struct Tags {
    pub(crate) members: Vec<Member>,
    by_tag: BTreeMap<String, usize>,
    places: BTreeMap<String, Range<usize>>,
    /// False once a tag could not be read: then an unknown tag is no news.
    pub(crate) complete: bool,
    rows: BTreeMap<String, Rc<[usize]>>,
    lookups: usize,
}

impl Tags {
    pub(crate) fn new() -> Self {
        Self { complete: true, ..Self::default() }
    }

    /// Takes a member in; its tag's first place where it is doubled.
    pub(crate) fn take_in(&mut self, member: Member, span: Range<usize>) -> Result<(), Range<usize>> {
        self.take_in_tag(&member.tag, span)?;
        self.by_tag.insert(member.tag.clone(), self.members.len());
        self.members.push(member);
        Ok(())
    }

    /// Takes the tag of a deck in.
    pub(crate) fn take_in_tag(&mut self, tag: &str, span: Range<usize>) -> Result<(), Range<usize>> {
        match self.places.get(tag) {
            Some(first) => Err(first.clone()),
            None => {
                self.places.insert(tag.to_owned(), span);
                Ok(())
            }
        }
    }

    /// The index of one member; said where there is none of that tag.
    pub(crate) fn one(&self, desk: &mut Desk<'_>, node: &Node<'_>) -> Option<usize> {
        let tag = node.text(desk)?;
        if tag.contains('*') {
            let message = format!("`{}` takes one tag, here is the pattern `{}`", node.label(), shorten(&tag));
            desk.say(node.draft(message).mend("name one member"));
            return None;
        }
        let found = self.by_tag.get(&tag).copied();
        if found.is_none() {
            self.unknown(desk, node, &tag);
        }
        found
    }

    /// The members that a tag, a pattern or a list of those names, in the order of the file. A list may name a member
    /// twice. `None` once something was said.
    pub(crate) fn resolve(&mut self, desk: &mut Desk<'_>, node: &Node<'_>) -> Option<Vec<Picked>> {
        let mut picked = Vec::new();
        let nodes = match node.value {
            DeValue::Array(items) if items.is_empty() => {
                desk.say(node.draft(format!("`{}` is an empty list", node.label())).mend("name at least one member"));
                return None;
            }
            DeValue::Array(_) => node.items(desk, "tags"),
            _ => vec![node.clone()],
        };
        let mut whole = true;
        for node in nodes {
            whole &= self.pick(desk, &node, &mut picked);
        }
        whole.then_some(picked)
    }

    fn pick(&mut self, desk: &mut Desk<'_>, node: &Node<'_>, picked: &mut Vec<Picked>) -> bool {
        let Some(text) = node.text(desk) else { return false };
        let Some(prefix) = prefix(&text) else {
            let member = self.by_tag.get(&text).copied();
            match member {
                Some(member) => picked.push(Picked { member, span: node.span.clone() }),
                None => self.unknown(desk, node, &text),
            }
            return member.is_some();
        };
        if !is_sound(&text) {
            let message = format!("`{}` is no pattern", shorten(&text));
            desk.say(
                node.draft(message).mend("a pattern is the beginning of a tag and one `*` at its end, such as `B*`"),
            );
            return false;
        }
        let row = self.row(prefix);
        self.lookups = self.lookups.saturating_add(row.len());
        if row.is_empty() {
            self.fits_none(desk, node, prefix);
            return false;
        }
        if self.lookups > LOOKUPS {
            desk.say(node.draft(format!("the patterns of this file stand for more than {LOOKUPS} members in all")));
            return false;
        }
        picked.extend(row.iter().map(|member| Picked { member: *member, span: node.span.clone() }));
        true
    }

    /// Whether all patterns together have been looked up more often than any honest file needs.
    pub(crate) fn is_exhausted(&self) -> bool {
        self.lookups > LOOKUPS
    }

    fn row(&mut self, prefix: &str) -> Rc<[usize]> {
        if let Some(row) = self.rows.get(prefix) {
            return Rc::clone(row);
        }
        // ':' comes right after '9'.
        let range = self.by_tag.range(format!("{prefix}0")..format!("{prefix}:"));
        let mut row: Vec<usize> = range.filter(|(tag, _)| fits(prefix, tag)).map(|(_, member)| *member).collect();
        row.sort_unstable();
        let row: Rc<[usize]> = row.into();
        self.rows.insert(prefix.to_owned(), Rc::clone(&row));
        row
    }

    fn unknown(&self, desk: &mut Desk<'_>, node: &Node<'_>, tag: &str) {
        if !self.complete {
            return;
        }
        let draft = node.draft(format!("`{}` in `{}` is no member", shorten(tag), node.label()));
        let near = if desk.suggests() { nearest(tag, self.by_tag.keys().map(String::as_str)) } else { None };
        desk.say(with_near(draft, near.map(str::to_owned)));
    }

    fn fits_none(&self, desk: &mut Desk<'_>, node: &Node<'_>, prefix: &str) {
        if !self.complete {
            return;
        }
        let message =
            format!("`{prefix}*` in `{}` fits no member: none has the tag `{prefix}` and a number", node.label());
        let draft = node.draft(message);
        let mut near = None;
        if self.by_tag.contains_key(prefix) {
            near = Some(prefix.to_owned());
        } else if desk.suggests() {
            let rows: BTreeSet<&str> = self.by_tag.keys().map(|tag| without_number(tag)).collect();
            near = nearest(prefix, rows)
                .map(|row| if self.by_tag.contains_key(row) { row.to_owned() } else { format!("{row}*") });
        }
        desk.say(with_near(draft, near));
    }

    /// Says that a tag is doubled, with both places.
    pub(crate) fn doubled(desk: &mut Desk<'_>, node: &Node<'_>, tag: &str, first: &Range<usize>) {
        let message = format!("the tag `{tag}` stands twice, first on line {}", desk.line(first));
        desk.say(node.draft(message).mend("give one of the two another tag"));
    }

    /// Whether a tag is of a member or a deck.
    pub(crate) fn knows(&self, tag: &str) -> bool {
        self.places.contains_key(tag)
    }

    /// All tags of members and decks.
    pub(crate) fn all(&self) -> impl Iterator<Item = &str> {
        self.places.keys().map(String::as_str)
    }
}

/// A mistake with the word that was probably meant.
pub(crate) fn with_near(draft: Draft, near: Option<String>) -> Draft {
    match near {
        Some(near) => draft.mend(format!("perhaps `{near}` was meant")),
        None => draft,
    }
}
