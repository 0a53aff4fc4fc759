//! Where on a member, in a builder's words.

use super::figures;
use battenboard_engine::design::{Design, Member, Vector, anchor_tags};

pub use battenboard_engine::design::joint_tag;

/// `at mid-span`, `at its marked end`, `640 mm from its marked end`; for a deck, the place in the vehicle.
pub fn along(design: &Design, tag: &str, at_mm: f64) -> String {
    if design.decks.iter().any(|deck| deck.tag == tag) {
        return "between its members".into();
    }
    let Some(member) = member(design, tag) else { return format!("at {}", figures::length(at_mm)) };
    let length = length_mm(member);
    match at_mm {
        at if at <= 0.02 * length => "at its marked end".into(),
        at if at >= 0.98 * length => "at its other end".into(),
        at if (at - 0.5 * length).abs() <= 0.05 * length => "at its middle".into(),
        at if at > 0.5 * length => format!("{} from its other end", figures::length(length - at)),
        at => format!("{} from its marked end", figures::length(at)),
    }
}

/// The same for a column of a table: `marked end`, `640 mm along`.
pub fn short(design: &Design, tag: &str, at_mm: f64) -> String {
    let whole = along(design, tag, at_mm);
    match whole.strip_prefix("at its ") {
        Some(place) => place.to_owned(),
        None if member(design, tag).is_some() => format!("{} along", figures::length(at_mm)),
        None => whole,
    }
}

/// The member of that tag.
pub fn member<'d>(design: &'d Design, tag: &str) -> Option<&'d Member> {
    design.members.iter().find(|member| member.tag == tag)
}

/// Length of a member's axis, mm.
pub fn length_mm(member: &Member) -> f64 {
    norm(subtract(member.to, member.from))
}

/// `bearer B3`, `deck D1`: the kind and the tag.
pub fn named(design: &Design, tag: &str) -> String {
    if design.decks.iter().any(|deck| deck.tag == tag) {
        return format!("deck {tag}");
    }
    if member(design, tag).is_none() && tag == super::whole::TAG {
        return "the whole frame".into();
    }
    match member(design, tag) {
        Some(member) if !member.kind.is_empty() => format!("{} {tag}", member.kind),
        _ => tag.to_owned(),
    }
}

/// All tags one can name: members, decks, joints, anchors.
pub fn all_tags(design: &Design) -> Vec<String> {
    let members = design.members.iter().map(|member| member.tag.clone());
    let decks = design.decks.iter().map(|deck| deck.tag.clone());
    members.chain(decks).chain(design.joints.iter().map(joint_tag)).chain(anchor_tags(design)).collect()
}

/// The row a tag belongs to: its letters before the closing number (`B3` is of row `B`).
pub fn row(tag: &str) -> &str {
    let stem = tag.trim_end_matches(|c: char| c.is_ascii_digit());
    if stem.is_empty() { tag } else { stem }
}

fn subtract(a: Vector, b: Vector) -> Vector {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

fn norm(v: Vector) -> f64 {
    v.iter().map(|part| part * part).sum::<f64>().sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_the_letters_before_the_number() {
        assert_eq!((row("B12"), row("RL"), row("7")), ("B", "RL", "7"));
    }
}
