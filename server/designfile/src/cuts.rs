//! `notches` and `holes` of a member: what is cut out of it.

use crate::desk::Desk;
use crate::fields::Fields;
use crate::hold::{Along, along};
use crate::unit::Kind;
use crate::value::Node;
use battenboard_engine::design::{CUTS_MAX, Face, Hole, Member, Notch};

const NOTCH: [&str; 5] = ["from", "to", "depth", "face", "slope"];
const HOLE: [&str; 4] = ["at", "diameter", "through", "off"];

const FACES: [(&str, Face); 4] =
    [("lower", Face::Lower), ("upper", Face::Upper), ("left", Face::Left), ("right", Face::Right)];

/// `depth` runs down through the section's depth, `width` across it.
const THROUGH: [(&str, bool); 2] = [("depth", true), ("width", false)];

/// The cuts of an entry, their places not yet measured: `"end"` is known once the member's two ends are.
#[derive(Default)]
pub(crate) struct Cuts {
    notches: Vec<(Along, Along, Notch)>,
    holes: Vec<(Along, Hole)>,
}

impl Cuts {
    pub(crate) fn read(desk: &mut Desk<'_>, fields: &Fields<'_>) -> Self {
        let notches = tables(desk, fields, "notches", "notches: [{ from = 0, to = 40, depth = 12 }]");
        let holes = tables(desk, fields, "holes", "holes: [{ at = 300, diameter = 20, through = \"width\" }]");
        Self {
            notches: notches.iter().filter_map(|node| notch(desk, node)).collect(),
            holes: holes.iter().filter_map(|node| hole(desk, node)).collect(),
        }
    }

    /// The cuts of a member, by its length.
    pub(crate) fn of(self, member: &Member) -> (Vec<Notch>, Vec<Hole>) {
        let notches = self.notches.into_iter();
        let holes = self.holes.into_iter();
        (
            notches
                .map(|(from, to, notch)| Notch { from_mm: from.on(member), to_mm: to.on(member), ..notch })
                .collect(),
            holes.map(|(at, hole)| Hole { at_mm: at.on(member), ..hole }).collect(),
        )
    }
}

/// The tables of a list; too many are said once, and none is read.
fn tables<'a>(desk: &mut Desk<'_>, fields: &Fields<'a>, key: &str, what: &str) -> Vec<Node<'a>> {
    let Some(list) = fields.get(key) else { return Vec::new() };
    let nodes = list.items(desk, what);
    if let Some(over) = nodes.get(CUTS_MAX) {
        desk.say(over.draft(format!("there are {} {key} of one member, at most {CUTS_MAX} are taken", nodes.len())));
        return Vec::new();
    }
    nodes
}

fn notch(desk: &mut Desk<'_>, node: &Node<'_>) -> Option<(Along, Along, Notch)> {
    let fields = Fields::open(desk, node, "a notch", &NOTCH)?;
    let from = fields.need(desk, "from", "0").and_then(|node| along(desk, &node));
    let to = fields.need(desk, "to", "40").and_then(|node| along(desk, &node));
    let depth_mm = fields.need_number(desk, "depth", Kind::Length, "12");
    let face = fields.get("face").and_then(|node| node.choice(desk, &FACES)).unwrap_or_default();
    let slope = fields.number(desk, "slope", Kind::Factor).unwrap_or_default();
    Some((from?, to?, Notch { from_mm: 0.0, to_mm: 0.0, depth_mm, face, slope }))
}

fn hole(desk: &mut Desk<'_>, node: &Node<'_>) -> Option<(Along, Hole)> {
    let fields = Fields::open(desk, node, "a hole", &HOLE)?;
    let at = fields.need(desk, "at", "300").and_then(|node| along(desk, &node));
    let diameter_mm = fields.need_number(desk, "diameter", Kind::Length, "20");
    // Which way it runs decides what it weakens: never taken for granted.
    let through = fields.need(desk, "through", "\"width\"").and_then(|node| node.choice(desk, &THROUGH));
    let off_mm = fields.number(desk, "off", Kind::Length).unwrap_or_default();
    Some((at?, Hole { at_mm: 0.0, diameter_mm, through_depth: through?, off_mm }))
}
