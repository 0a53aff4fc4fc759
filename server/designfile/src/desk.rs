//! Where mistakes are gathered while a text is read.

use crate::MISTAKE_LIMIT;
use crate::lines::{Lines, quote};
use crate::mistake::Mistake;
use std::ops::Range;

/// So many are gathered before sorting by place; beyond, they are only counted.
const GATHERED: usize = 2_000;

/// So many get a suggestion from the design's own tags (each costs a pass over all of them).
const SUGGESTED: usize = 100;

/// A mistake before its line and column are reckoned.
#[derive(Clone, Debug)]
pub(crate) struct Draft {
    pub(crate) span: Range<usize>,
    pub(crate) path: String,
    pub(crate) message: String,
    pub(crate) mend: Option<String>,
}

impl Draft {
    pub(crate) fn new(span: Range<usize>, path: impl Into<String>, message: impl Into<String>) -> Self {
        Self { span, path: path.into(), message: message.into(), mend: None }
    }

    pub(crate) fn mend(mut self, mend: impl Into<String>) -> Self {
        self.mend = Some(mend.into());
        self
    }
}

/// The text under reading and its mistakes so far.
pub(crate) struct Desk<'t> {
    pub(crate) text: &'t str,
    pub(crate) lines: Lines,
    drafts: Vec<Draft>,
    more: usize,
}

impl<'t> Desk<'t> {
    pub(crate) fn new(text: &'t str) -> Self {
        Self { text, lines: Lines::new(text), drafts: Vec::new(), more: 0 }
    }

    pub(crate) fn say(&mut self, draft: Draft) {
        if self.drafts.len() < GATHERED {
            self.drafts.push(draft);
        } else {
            self.more += 1;
        }
    }

    /// Whether a search for the nearest tag is still worth its time.
    pub(crate) fn suggests(&self) -> bool {
        self.drafts.len() < SUGGESTED
    }

    /// How many mistakes were said so far.
    pub(crate) fn count(&self) -> usize {
        self.drafts.len() + self.more
    }

    pub(crate) fn is_clean(&self) -> bool {
        self.drafts.is_empty()
    }

    pub(crate) fn quote(&self, span: &Range<usize>) -> String {
        quote(self.text, span)
    }

    pub(crate) fn line(&self, span: &Range<usize>) -> usize {
        self.lines.line(span.start)
    }

    /// The mistakes in the order of the text, at most [`MISTAKE_LIMIT`], then one that counts the rest.
    pub(crate) fn mistakes(mut self) -> Vec<Mistake> {
        self.drafts.sort_by_key(|draft| draft.span.start);
        self.drafts.dedup_by(|b, a| a.span == b.span && a.message == b.message && a.mend == b.mend);
        let left = self.drafts.len().saturating_sub(MISTAKE_LIMIT) + self.more;
        if left > 0 && self.drafts.len() > MISTAKE_LIMIT {
            let span = self.drafts[MISTAKE_LIMIT].span.clone();
            self.drafts.truncate(MISTAKE_LIMIT);
            let plural = if left == 1 { "" } else { "s" };
            self.drafts.push(Draft::new(span, "", format!("and {left} more mistake{plural}")));
        }
        let Self { text, lines, drafts, more: _ } = self;
        let placed = |Draft { span, path, message, mend }| {
            let (line, column) = lines.place(text, span.start);
            Mistake { line, column, span, message, mend, path }
        };
        drafts.into_iter().map(placed).collect()
    }
}
