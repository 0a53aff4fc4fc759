//! Single values of the file: numbers, texts, choices, points, lists.

use crate::desk::{Desk, Draft};
use crate::lines::shorten;
use crate::unit::{Kind, LARGEST, is_bare, quantity};
use battenboard_engine::design::Vector;
use battenboard_engine::nearest::nearest;
use std::ops::Range;
use toml::de::DeValue;

/// Longest text of a value, characters.
const LONGEST_TEXT: usize = 200;

/// A value with its place in the text and its path by the file's keys.
#[derive(Clone)]
pub(crate) struct Node<'a> {
    pub(crate) value: &'a DeValue<'a>,
    pub(crate) span: Range<usize>,
    pub(crate) path: String,
}

impl<'a> Node<'a> {
    /// The last key of the path, for sentences: `from` of `members[0].from[1]`.
    pub(crate) fn label(&self) -> &str {
        let last = self.path.rsplit('.').next().unwrap_or(&self.path);
        last.split('[').next().unwrap_or(last)
    }

    pub(crate) fn draft(&self, message: impl Into<String>) -> Draft {
        Draft::new(self.span.clone(), self.path.clone(), message)
    }

    /// `` `width` is a length, here is the text "wide" ``.
    pub(crate) fn mismatch(&self, desk: &Desk<'_>, is: &str) -> Draft {
        let label = self.label();
        let here = match self.value {
            DeValue::Table(_) => "a table".to_owned(),
            DeValue::Array(_) => "a list".to_owned(),
            DeValue::Datetime(_) => format!("the date `{}`", desk.quote(&self.span)),
            _ => format!("`{}`", desk.quote(&self.span)),
        };
        self.draft(format!("`{label}` {is}, here is {here}"))
    }

    /// A finite number of a kind, in its base unit.
    pub(crate) fn number(&self, desk: &mut Desk<'_>, kind: Kind) -> Option<f64> {
        let value = match self.value {
            DeValue::Integer(number) if number.radix() == 10 => number.as_str().parse().ok(),
            DeValue::Integer(number) => i128::from_str_radix(number.as_str(), number.radix()).ok().map(|n| n as f64),
            DeValue::Float(number) => number.as_str().parse().ok(),
            DeValue::String(text) => return self.quantity(desk, text, kind),
            _ => {
                let draft = self.mismatch(desk, &format!("is {}", kind.noun()));
                desk.say(draft.mend(kind.example()));
                return None;
            }
        };
        let value: Option<f64> = value.filter(|value: &f64| value.abs() <= LARGEST);
        if value.is_none() {
            let draft = self.mismatch(desk, &format!("is {}", kind.noun()));
            desk.say(draft.mend("write a number that can be measured"));
        }
        value.map(|value| if kind == Kind::Turn { value.to_radians() } else { value })
    }

    fn quantity(&self, desk: &mut Desk<'_>, text: &str, kind: Kind) -> Option<f64> {
        let label = self.label();
        if is_bare(text) {
            let draft = self.draft(format!("`{label}` is a number in quotes without a unit: \"{}\"", shorten(text)));
            desk.say(draft.mend("take the quotes off, or write its unit"));
            return None;
        }
        match quantity(text, kind) {
            Ok(value) => Some(value),
            Err(error) => {
                let mut draft = self.draft(format!("`{label}`: {error}"));
                draft.mend = error.mend();
                desk.say(draft);
                None
            }
        }
    }

    /// A whole number within bounds.
    pub(crate) fn whole(&self, desk: &mut Desk<'_>, least: u32, most: u32) -> Option<u32> {
        let number = match self.value {
            DeValue::Integer(number) => u32::from_str_radix(number.as_str(), number.radix()).ok(),
            _ => None,
        };
        let number = number.filter(|number| (least..=most).contains(number));
        if number.is_none() {
            let draft = self.mismatch(desk, &format!("is a whole number from {least} to {most}"));
            desk.say(draft);
        }
        number
    }

    /// `true` or `false`.
    pub(crate) fn truth(&self, desk: &mut Desk<'_>) -> Option<bool> {
        if let DeValue::Boolean(truth) = self.value {
            return Some(*truth);
        }
        let draft = self.mismatch(desk, "is true or false");
        desk.say(draft.mend("write it without quotes: `true`"));
        None
    }

    /// A text of at most 200 printable characters.
    pub(crate) fn text(&self, desk: &mut Desk<'_>) -> Option<String> {
        let DeValue::String(text) = self.value else {
            let draft = self.mismatch(desk, "is a text in quotes");
            let bare = matches!(self.value, DeValue::Integer(_) | DeValue::Float(_) | DeValue::Boolean(_));
            let quoted = format!("write \"{}\"", desk.quote(&self.span));
            desk.say(if bare { draft.mend(quoted) } else { draft });
            return None;
        };
        let label = self.label();
        if text.chars().any(char::is_control) {
            let message = format!("`{label}` has a character that can't be printed: \"{}\"", shorten(text));
            desk.say(self.draft(message).mend("take it out"));
            return None;
        }
        let length = text.chars().count();
        if length > LONGEST_TEXT {
            let message = format!("`{label}` has {length} characters, at most {LONGEST_TEXT} are taken");
            desk.say(self.draft(message));
            return None;
        }
        Some(text.to_string())
    }

    /// One of a few words.
    pub(crate) fn choice<T: Copy>(&self, desk: &mut Desk<'_>, choices: &[(&str, T)]) -> Option<T> {
        let text = self.text(desk)?;
        let found = choices.iter().find(|(word, _)| *word == text).map(|(_, choice)| *choice);
        if found.is_none() {
            let words: Vec<&str> = choices.iter().map(|(word, _)| *word).collect();
            let message = format!("`{}` can't be \"{}\"", self.label(), shorten(&text));
            let mend = nearest(&text, words.iter().copied())
                .map_or_else(|| format!("one of {}", words.join(", ")), |near| format!("perhaps \"{near}\" was meant"));
            desk.say(self.draft(message).mend(mend));
        }
        found
    }

    /// The items of a list; said where it is none.
    pub(crate) fn items(&self, desk: &mut Desk<'_>, of: &str) -> Vec<Node<'a>> {
        let DeValue::Array(items) = self.value else {
            let draft = self.mismatch(desk, &format!("is a list of {of}"));
            desk.say(draft);
            return Vec::new();
        };
        let path = &self.path;
        let node = |(index, item): (usize, &'a toml::Spanned<DeValue<'a>>)| Node {
            value: item.get_ref(),
            span: item.span(),
            path: format!("{path}[{index}]"),
        };
        items.iter().enumerate().map(node).collect()
    }

    /// A list of `N` numbers, each of its kind.
    pub(crate) fn numbers<const N: usize>(
        &self,
        desk: &mut Desk<'_>,
        kinds: [Kind; N],
        what: &str,
    ) -> Option<[f64; N]> {
        let DeValue::Array(items) = self.value else {
            let draft = self.mismatch(desk, &format!("is {what}"));
            desk.say(draft);
            return None;
        };
        if items.len() != N {
            let message = format!("`{}` is {what}, here are {}", self.label(), items.len());
            desk.say(self.draft(message));
            return None;
        }
        let mut numbers = [0.0; N];
        let mut whole = true;
        for ((item, kind), number) in self.items(desk, "numbers").iter().zip(kinds).zip(&mut numbers) {
            match item.number(desk, kind) {
                Some(value) => *number = value,
                None => whole = false,
            }
        }
        whole.then_some(numbers)
    }

    /// Three lengths.
    pub(crate) fn point(&self, desk: &mut Desk<'_>) -> Option<Vector> {
        self.numbers(desk, [Kind::Length; 3], "three lengths [x, y, z]")
    }

    /// Two lengths.
    pub(crate) fn flat_point(&self, desk: &mut Desk<'_>) -> Option<[f64; 2]> {
        self.numbers(desk, [Kind::Length; 2], "two lengths [x, y]")
    }
}
