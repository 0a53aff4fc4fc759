//! `[[members]]`: single members and rows.

use crate::MEMBER_LIMIT;
use crate::cuts::Cuts;
use crate::desk::Desk;
use crate::fields::Fields;
use crate::pattern::{is_sound, tag_fault};
use crate::places::Origin;
use crate::stock::Shelf;
use crate::tags::Tags;
use crate::unit::Kind;
use crate::value::Node;
use battenboard_engine::design::{Member, Vector};

const MEMBER: [&str; 15] = [
    "tag",
    "kind",
    "stock",
    "from",
    "to",
    "count",
    "first",
    "step",
    "up",
    "roll",
    "held_depth",
    "held_width",
    "sag_limit",
    "notches",
    "holes",
];

/// Greatest number of the first of a row.
const FIRST_LIMIT: u32 = 999_999;

/// The tags of a row, before they are written out.
struct Row {
    /// The tag of one member, or what the numbers of a row are put behind.
    prefix: String,
    numbered: bool,
    first: u32,
    count: u32,
    step: Vector,
}

pub(crate) fn read(desk: &mut Desk<'_>, root: &Fields<'_>, shelf: &Shelf, tags: &mut Tags) -> Vec<Origin> {
    let nodes = root.tables(desk, "members", MEMBER_LIMIT);
    tags.complete = !root.is_unread("members", nodes.len());
    let mut origins = Vec::new();
    let mut total = 0_usize;
    for (item, node) in nodes.iter().enumerate() {
        let Some(fields) = Fields::open(desk, node, "a member", &MEMBER) else {
            tags.complete = false;
            continue;
        };
        let tag = fields.need(desk, "tag", "\"RL\"").and_then(|node| Some((node.text(desk)?, node)));
        let member = member(desk, &fields, shelf);
        let row = tag.as_ref().and_then(|(text, node)| row(desk, &fields, node, text));
        let (Some((_, tag_node)), Some(row)) = (tag, row) else {
            tags.complete = false;
            continue;
        };
        total = total.saturating_add(row.count as usize);
        if total > MEMBER_LIMIT {
            let at = fields.get("count").unwrap_or_else(|| tag_node.clone());
            desk.say(at.draft(format!("with these the design has {total} members, at most {MEMBER_LIMIT} are taken")));
            tags.complete = false;
            break;
        }
        write_out(desk, tags, &tag_node, &row, &member, item, &mut origins);
    }
    origins
}

fn member(desk: &mut Desk<'_>, fields: &Fields<'_>, shelf: &Shelf) -> Member {
    let stock = fields.need(desk, "stock", "\"45x70\"");
    let cuts = Cuts::read(desk, fields);
    let mut member = Member {
        tag: String::new(),
        kind: fields.need_text(desk, "kind", "\"rail\""),
        stock: shelf.name(desk, stock),
        from: fields.need(desk, "from", "[1900, -600, 450]").and_then(|node| node.point(desk)).unwrap_or_default(),
        to: fields.need(desk, "to", "[3900, -600, 450]").and_then(|node| node.point(desk)).unwrap_or_default(),
        up: fields
            .get("up")
            .and_then(|node| node.numbers(desk, [Kind::Factor; 3], "a direction of three numbers [x, y, z]")),
        roll_deg: fields.number(desk, "roll", Kind::Angle).unwrap_or_default(),
        held_depth_mm: fields.number(desk, "held_depth", Kind::Length),
        held_width_mm: fields.number(desk, "held_width", Kind::Length),
        sag_limit_mm: fields.number(desk, "sag_limit", Kind::Length),
        ..Member::default()
    };
    (member.notches, member.holes) = cuts.of(&member);
    member
}

/// What a tag stands for: a row where it has a `*`, else one member. `None` once its tags can't be known.
fn row(desk: &mut Desk<'_>, fields: &Fields<'_>, tag: &Node<'_>, text: &str) -> Option<Row> {
    let quoted = crate::lines::shorten(text);
    if !text.contains('*') {
        if let Some(fault) = tag_fault(text) {
            desk.say(tag.draft(format!("`{quoted}` is no tag")).mend(fault));
            return None;
        }
        let mut stray = false;
        for key in ["count", "step", "first"] {
            if let Some(node) = fields.get(key) {
                let message = format!("`{key}` is for a row, but the tag `{text}` is of one member");
                desk.say(node.draft(message).mend(format!("write the tag `{text}*`, or take `{key}` out")));
                stray = true;
            }
        }
        if stray {
            return None;
        }
        return Some(Row { prefix: text.to_owned(), numbered: false, first: 0, count: 1, step: [0.0; 3] });
    }
    if !is_sound(text) {
        let mend = "the tag of a row is a letter, then letters, digits, `-`, `_` or `.`, and one `*` at its end: `B*`";
        desk.say(tag.draft(format!("`{quoted}` is no tag")).mend(mend));
        return None;
    }
    let most = u32::try_from(MEMBER_LIMIT).unwrap_or(u32::MAX);
    let count = fields.need(desk, "count", "7").and_then(|node| node.whole(desk, 1, most));
    let first = fields.get("first").map_or(Some(1), |node| node.whole(desk, 0, FIRST_LIMIT));
    let step = match fields.get("step") {
        Some(node) => node.point(desk),
        None if count == Some(1) => Some([0.0; 3]),
        None => fields.need(desk, "step", "[300, 0, 0]").and(None),
    };
    let prefix = text.trim_end_matches('*').to_owned();
    let (count, first) = (count?, first?);
    let last = format!("{prefix}{}", first + count - 1);
    if let Some(fault) = tag_fault(&last) {
        desk.say(tag.draft(format!("`{last}`, the last of this row, is no tag")).mend(fault));
        return None;
    }
    // Without a step the tags are known all the same.
    Some(Row { prefix, numbered: true, first, count, step: step.unwrap_or_default() })
}

fn write_out(
    desk: &mut Desk<'_>,
    tags: &mut Tags,
    tag: &Node<'_>,
    row: &Row,
    pattern: &Member,
    item: usize,
    origins: &mut Vec<Origin>,
) {
    for index in 0..row.count {
        let moved = |point: Vector| [0, 1, 2].map(|axis| point[axis] + f64::from(index) * row.step[axis]);
        let name = if row.numbered { format!("{}{}", row.prefix, row.first + index) } else { row.prefix.clone() };
        let member = Member { tag: name.clone(), from: moved(pattern.from), to: moved(pattern.to), ..pattern.clone() };
        if let Err(first) = tags.take_in(member, tag.span.clone()) {
            // Once for a row: the rest of it is the same mistake.
            Tags::doubled(desk, tag, &name, &first);
            tags.complete = false;
            return;
        }
        origins.push(Origin::new(item));
    }
}
