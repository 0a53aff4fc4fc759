//! From text to design.

use crate::desk::{Desk, Draft};
use crate::fields::Fields;
use crate::mistake::Mistake;
use crate::places::Places;
use crate::tags::Tags;
use crate::{anchors, decks, joints, loads, members, people, scan, settings, stock, syntax, to_be_measured, vehicle};
use battenboard_engine::design::{Design, Frame};
use toml::de::DeTable;

const ROOT: [&str; 14] = [
    "format",
    "name",
    "title",
    "vehicle",
    "stock",
    "members",
    "joints",
    "anchors",
    "decks",
    "stowage",
    "people",
    "loads",
    "check",
    "to_be_measured",
];

/// The format this reader knows.
const FORMAT: u32 = 1;

/// A design and where each part of it stands in the text.
#[derive(Clone, Debug)]
pub struct Read {
    /// The design, rows written out.
    pub design: Design,
    /// From its field paths to the text.
    pub places: Places,
}

/// Reads a design file.
///
/// # Errors
/// All mistakes of the text in its order, at most [`MISTAKE_LIMIT`](crate::MISTAKE_LIMIT) and one that counts the
/// rest. Where the text is not sound TOML, only that is said, since the rest can't be known.
pub fn read(text: &str) -> Result<Read, Vec<Mistake>> {
    scan::too_long(text.len())?;
    let mut desk = Desk::new(text);
    scan::text(&mut desk);
    if !desk.is_clean() {
        return Err(desk.mistakes());
    }
    let Some(document) = syntax::parse(&mut desk) else { return Err(desk.mistakes()) };
    let places = Places::new(text, desk.lines.clone(), &document);
    match design(&mut desk, &document, places) {
        Some(read) if desk.is_clean() => Ok(read),
        _ => Err(desk.mistakes()),
    }
}

/// Reads a design file from its bytes.
///
/// # Errors
/// As [`read`]; also where the bytes are not UTF-8.
pub fn read_bytes(bytes: &[u8]) -> Result<Read, Vec<Mistake>> {
    read(scan::utf8(bytes)?)
}

/// Reads a design file and runs the engine's own checks of the design.
///
/// # Errors
/// As [`read`]; then whatever [`Frame::new`] finds, each at the place in the text that comes nearest to its field.
pub fn read_frame(text: &str) -> Result<(Read, Frame), Vec<Mistake>> {
    let read = read(text)?;
    match Frame::new(&read.design) {
        Ok(frame) => Ok((read, frame)),
        Err(violations) => {
            let mut desk = Desk::new(text);
            for violation in violations {
                let span = read.places.find(&violation.path).span;
                desk.say(Draft { span, path: violation.path, message: violation.message, mend: violation.mend });
            }
            Err(desk.mistakes())
        }
    }
}

/// Reads the tables in the order in which they refer to each other. `None` where the format is not known.
fn design(desk: &mut Desk<'_>, document: &DeTable<'_>, mut places: Places) -> Option<Read> {
    format(desk, document)?;
    let root = Fields::root(desk, document, &ROOT);
    let mut tags = Tags::new();
    let name = root.need_text(desk, "name", "\"curlew-platform\"");
    let title = root.text(desk, "title").unwrap_or_default();
    let vehicle = vehicle::read(desk, &root);
    let (stock, shelf) = stock::read(desk, &root);
    let member_origins = members::read(desk, &root, &shelf, &mut tags);
    let said = desk.count();
    let (joints, joint_origins) = joints::read(desk, &root, &mut tags);
    let (anchors, anchor_origins) = anchors::read(desk, &root, &mut tags);
    // A joint or anchor with a mistake may be the one that is named.
    let all_joined = desk.count() == said;
    let (decks, deck_origins) = decks::read(desk, &root, &shelf, &mut tags);
    let (stowage, stowage_origins) = people::stowage(desk, &root, &tags);
    let (people, people_origins) = people::people(desk, &root, &tags, &decks);
    let (loads, load_origins) = loads::read(desk, &root, &tags, &decks);
    let settings = settings::read(desk, &root);
    places.set_origins("members", member_origins);
    places.set_origins("joints", joint_origins);
    places.set_origins("anchors", anchor_origins);
    places.set_origins("decks", deck_origins);
    places.set_origins("stowage", stowage_origins);
    places.set_origins("people", people_origins);
    places.set_origins("loads", load_origins);
    let complete = all_joined && tags.complete && shelf.is_complete();
    let members = tags.members;
    let mut design = Design {
        name,
        title,
        vehicle,
        stock,
        members,
        joints,
        anchors,
        decks,
        stowage,
        people,
        loads,
        settings,
        to_be_measured: Vec::new(),
    };
    let (open, open_origins) = to_be_measured::read(desk, &root, &design, complete);
    places.set_origins("to_be_measured", open_origins);
    design.to_be_measured = open;
    Some(Read { design, places })
}

fn format(desk: &mut Desk<'_>, document: &DeTable<'_>) -> Option<()> {
    let Some(value) = document.get("format") else {
        let draft = Draft::new(0..0, "format", "the file doesn't say its format");
        desk.say(draft.mend(format!("put `format = {FORMAT}` on the first line")));
        return None;
    };
    let number = value.get_ref().as_integer();
    let number = number.and_then(|number| u32::from_str_radix(number.as_str(), number.radix()).ok());
    if number != Some(FORMAT) {
        let message = format!("`format` is {FORMAT}, here is `{}`", desk.quote(&value.span()));
        desk.say(Draft::new(value.span(), "format", message).mend("this version of the program reads format 1"));
        return None;
    }
    Some(())
}
