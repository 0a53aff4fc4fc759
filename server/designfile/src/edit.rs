//! Changing the stock of members in a file, or the design's name, and nothing else of it.
//!
//! The text is cut and joined at byte places that [`read`] gives, so every comment, blank, line end and way of
//! writing stays as it is; the result is read again and compared before it is given out.

mod vehicle;

pub use vehicle::set_vehicle;

use crate::lines::{boundary, quote};
use crate::mistake::Mistake;
use crate::read::{Read, read};
use crate::write::{quoted, stock_inline, stock_text};
use battenboard_engine::design::{Design, Stock};
use battenboard_engine::nearest::nearest;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

/// Why a file was not changed.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum EditError {
    /// The file has mistakes; it is changed only when it can be read.
    #[error("the file has mistakes, the first on line {}: {}", first_line(.0), first_message(.0))]
    Mistakes(Vec<Mistake>),
    /// No member was named.
    #[error("no member is named")]
    NoMember,
    /// No member of that tag.
    #[error("`{tag}` is no member")]
    UnknownMember {
        /// The tag.
        tag: String,
        /// The one that was probably meant.
        near: Option<String>,
    },
    /// Only some members of a row were named.
    #[error("`{row}` on line {line} is one row; to change only {} of it, the row would have to be split", tags.join(", "))]
    RowSplit {
        /// The row's tag in the file.
        row: String,
        /// Where it stands.
        line: usize,
        /// Those of it that were named.
        tags: Vec<String>,
        /// All of it.
        whole: Vec<String>,
    },
    /// No stock of that name in the file, and none was given.
    #[error("there is no stock named \"{stock}\"")]
    UnknownStock {
        /// The name.
        stock: String,
        /// The one that was probably meant.
        near: Option<String>,
    },
    /// The file has a stock of that name which is another one.
    #[error("the file has another stock named \"{stock}\"")]
    OtherStock {
        /// The name.
        stock: String,
    },
    /// The file is written in a way that can't be changed safely.
    #[error("the file is written in a way that can't be changed safely; change it by hand")]
    Unsafe,
    /// The file's vehicle is written in a way that can't be changed safely.
    #[error("the file's vehicle is written in a way that can't be changed safely; change it by hand")]
    UnsafeVehicle,
}

fn first_line(mistakes: &[Mistake]) -> usize {
    mistakes.first().map_or(1, |mistake| mistake.line)
}

fn first_message(mistakes: &[Mistake]) -> &str {
    mistakes.first().map_or("", |mistake| &mistake.message)
}

/// Changes the stock of members in a file's text. A row changes as a whole, so all its members must be named.
/// `new_stock` is put behind the file's last stock unless the file has it already.
///
/// # Errors
/// [`EditError`]; then nothing is to be changed.
pub fn set_stock(text: &str, tags: &[String], stock: &str, new_stock: Option<&Stock>) -> Result<String, EditError> {
    let before = read(text).map_err(EditError::Mistakes)?;
    let changed: BTreeSet<usize> = tags.iter().map(|tag| index(&before.design, tag)).collect::<Result<_, _>>()?;
    if changed.is_empty() {
        return Err(EditError::NoMember);
    }
    let mut cuts: Vec<(Range<usize>, String)> = Vec::new();
    for item in items(&before, &changed)? {
        let span = before.places.of_file(&format!("members[{item}].stock")).ok_or(EditError::Unsafe)?;
        cuts.push((span, quoted(stock)));
    }
    let added = addition(&before, stock, new_stock)?;
    if let Some(new) = added {
        cuts.push(place_of_new_stock(text, &before, new)?);
    }
    let result = splice(text, cuts);
    let mut expected = before.design;
    for member in changed {
        expected.members[member].stock = stock.to_owned();
    }
    expected.stock.extend(added.cloned());
    match read(&result) {
        Ok(after) if after.design == expected => Ok(result),
        _ => Err(EditError::Unsafe),
    }
}

/// Gives the design of a file's text another name.
///
/// # Errors
/// [`EditError`]; then nothing is to be changed.
pub fn set_name(text: &str, name: &str) -> Result<String, EditError> {
    let before = read(text).map_err(EditError::Mistakes)?;
    let span = before.places.of_file("name").ok_or(EditError::Unsafe)?;
    let result = splice(text, vec![(span, quoted(name))]);
    let expected = Design { name: name.to_owned(), ..before.design };
    match read(&result) {
        Ok(after) if after.design == expected => Ok(result),
        _ => Err(EditError::Unsafe),
    }
}

fn index(design: &Design, tag: &str) -> Result<usize, EditError> {
    design.members.iter().position(|member| member.tag == tag).ok_or_else(|| EditError::UnknownMember {
        tag: tag.to_owned(),
        near: nearest(tag, design.members.iter().map(|member| member.tag.as_str())).map(str::to_owned),
    })
}

/// The items of the file that stand for exactly these members.
fn items(read: &Read, changed: &BTreeSet<usize>) -> Result<Vec<usize>, EditError> {
    let mut rows: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for member in 0..read.design.members.len() {
        let item = read.places.item("members", member).ok_or(EditError::Unsafe)?;
        rows.entry(item).or_default().push(member);
    }
    let tag = |member: &usize| read.design.members[*member].tag.clone();
    let mut touched = Vec::new();
    for (item, row) in rows {
        let named: Vec<String> = row.iter().filter(|member| changed.contains(member)).map(tag).collect();
        if named.is_empty() {
            continue;
        }
        if named.len() < row.len() {
            let place = read.places.find(&format!("members[{}].tag", row[0]));
            let written = quote(read.places.text(), &place.span);
            let row_tag = written.trim_matches(['"', '\'']).to_owned();
            return Err(EditError::RowSplit {
                row: row_tag,
                line: place.line,
                tags: named,
                whole: row.iter().map(tag).collect(),
            });
        }
        touched.push(item);
    }
    Ok(touched)
}

/// The stock to put in, if the file has not got it yet.
fn addition<'s>(read: &Read, stock: &str, new: Option<&'s Stock>) -> Result<Option<&'s Stock>, EditError> {
    let present = read.design.stock.iter().find(|present| present.name == stock);
    match (present, new) {
        (Some(present), Some(new)) if present != new => Err(EditError::OtherStock { stock: stock.to_owned() }),
        (Some(_), _) => Ok(None),
        (None, Some(new)) if new.name == stock => Ok(Some(new)),
        (None, _) => {
            let names = read.design.stock.iter().map(|stock| stock.name.as_str());
            Err(EditError::UnknownStock { stock: stock.to_owned(), near: nearest(stock, names).map(str::to_owned) })
        }
    }
}

/// Where a new stock goes, and its text.
fn place_of_new_stock(text: &str, read: &Read, new: &Stock) -> Result<(Range<usize>, String), EditError> {
    let count = read.design.stock.len();
    let whole = read.places.of_file("stock");
    let is_list = whole.as_ref().is_some_and(|span| {
        text[boundary(text, span.start)..].starts_with('[') && !text[span.start..].starts_with("[[")
    });
    match (count.checked_sub(1), whole) {
        (Some(last), Some(whole)) if is_list => {
            let item = read.places.of_file(&format!("stock[{last}]")).ok_or(EditError::Unsafe)?;
            // Behind the last item on a line of its own, if that has one.
            let line = text[..item.start].rfind('\n').map_or(0, |at| at + 1);
            let indent = &text[line..item.start];
            let gap = if line > whole.start && indent.trim().is_empty() {
                format!("{}{indent}", line_end(text))
            } else {
                " ".to_owned()
            };
            Ok((item.end..item.end, format!(",{gap}{}", stock_inline(new))))
        }
        (Some(last), Some(_)) => {
            let prefix = format!("stock[{last}]");
            let end = read.places.end_of(&prefix).ok_or(EditError::Unsafe)?;
            let at = text[end..].find('\n').map_or(text.len(), |next| end + next + 1);
            Ok((at..at, with_line_ends(text, at, &stock_text(new))))
        }
        _ => Ok((text.len()..text.len(), with_line_ends(text, text.len(), &stock_text(new)))),
    }
}

fn line_end(text: &str) -> &'static str {
    if text.contains("\r\n") { "\r\n" } else { "\n" }
}

/// A block of lines in the file's own line ends; on a new line where the text before does not end one.
fn with_line_ends(text: &str, at: usize, block: &str) -> String {
    let end = line_end(text);
    let start = if text[..at].ends_with('\n') || at == 0 { "" } else { end };
    format!("{start}{}", block.replace('\n', end))
}

fn splice(text: &str, mut cuts: Vec<(Range<usize>, String)>) -> String {
    cuts.sort_by_key(|(span, _)| span.start);
    let mut out = String::with_capacity(text.len() + 256);
    let mut at = 0;
    for (span, new) in cuts {
        out.push_str(text.get(at..span.start).unwrap_or(""));
        out.push_str(&new);
        at = span.end;
    }
    out.push_str(text.get(at..).unwrap_or(""));
    out
}
