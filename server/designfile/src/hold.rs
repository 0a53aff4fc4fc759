//! What a joint or anchor holds, the axes it is measured in, and places along a member.

use crate::desk::Desk;
use crate::fields::Fields;
use crate::unit::Kind;
use crate::value::Node;
use battenboard_engine::design::{Axes, Grip, Hold, Member};
use toml::de::DeValue;

const DIRECTIONS: [&str; 6] = ["x", "y", "z", "turn_x", "turn_y", "turn_z"];

/// The hold that a value states; `None` once something was said.
pub(crate) fn hold(desk: &mut Desk<'_>, node: &Node<'_>) -> Option<Hold> {
    if matches!(node.value, DeValue::String(_)) {
        return node.choice(desk, &[("rigid", Hold::Rigid), ("pinned", Hold::Pinned), ("seated", Hold::Seated)]);
    }
    let fields = Fields::open(desk, node, "a hold", &DIRECTIONS)?;
    let mut grips = [Grip::Free; 6];
    let mut whole = true;
    for (index, (direction, grip)) in DIRECTIONS.iter().zip(&mut grips).enumerate() {
        let Some(node) = fields.get(direction) else { continue };
        let kind = if index < 3 { Kind::Spring } else { Kind::TurnSpring };
        match one_grip(desk, &node, kind) {
            Some(read) => *grip = read,
            None => whole = false,
        }
    }
    whole.then_some(Hold::Given(grips))
}

fn one_grip(desk: &mut Desk<'_>, node: &Node<'_>, kind: Kind) -> Option<Grip> {
    // A text that does not begin like a number is a word, rightly written or not.
    let word = matches!(node.value, DeValue::String(text) if !text.trim_start().starts_with(|c: char| c.is_ascii_digit() || "+-.".contains(c)));
    if word {
        return node.choice(desk, &[("rigid", Grip::Rigid), ("free", Grip::Free)]);
    }
    node.number(desk, kind).map(Grip::Spring)
}

pub(crate) fn axes(desk: &mut Desk<'_>, fields: &Fields<'_>) -> Axes {
    let node = fields.get("axes");
    node.and_then(|node| node.choice(desk, &[("vehicle", Axes::Vehicle), ("member", Axes::Member)])).unwrap_or_default()
}

/// A place along a member.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Along {
    Start,
    End,
    Mm(f64),
}

impl Along {
    /// Distance from the start, mm.
    pub(crate) fn on(self, member: &Member) -> f64 {
        match self {
            Self::Start => 0.0,
            Self::End => length_mm(member),
            Self::Mm(at) => at,
        }
    }
}

pub(crate) fn length_mm(member: &Member) -> f64 {
    let [x, y, z] = [0, 1, 2].map(|axis| member.to[axis] - member.from[axis]);
    (x * x + y * y + z * z).sqrt()
}

/// Reads `"start"`, `"end"` or a length from the start.
pub(crate) fn along(desk: &mut Desk<'_>, node: &Node<'_>) -> Option<Along> {
    if let DeValue::String(text) = node.value
        && text.trim_start().starts_with(|c: char| c.is_ascii_alphabetic())
    {
        return node.choice(desk, &[("start", Along::Start), ("end", Along::End)]);
    }
    node.number(desk, Kind::Length).map(Along::Mm)
}
