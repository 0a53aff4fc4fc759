//! Names and tags: well formed, unique, and pointing at something.

use crate::design::{DeckSurface, Design, LoadKind, Material, Violation, resolve, section};
use crate::nearest::nearest;
use crate::tables;
use std::collections::{BTreeMap, BTreeSet};

/// Longest tag.
const TAG_MAX: usize = 24;
/// Longest name or title, characters.
const NAME_MAX: usize = 120;

/// Checks the form of names and that none is given twice.
pub fn names(design: &Design, violations: &mut Vec<Violation>) {
    design_name(&design.name, violations);
    for (path, text) in [("title", &design.title), ("vehicle.name", &design.vehicle.name)] {
        text_ok(path.into(), text, violations);
    }
    unique("stock", "name", design.stock.iter().map(|s| s.name.clone()), violations);
    unique("members", "tag", design.members.iter().map(|m| m.tag.clone()), violations);
    unique("decks", "tag", design.decks.iter().map(|d| d.tag.clone()), violations);
    unique("stowage", "name", design.stowage.iter().map(|s| s.name.clone()), violations);
    unique("people", "name", design.people.iter().map(|p| p.name.clone()), violations);
    let joint = |j: &crate::design::Joint| j.tag.clone().unwrap_or_else(|| format!("{}/{}", j.on, j.member));
    unique("joints", "tag", design.joints.iter().map(joint), violations);
    let anchor =
        |a: &crate::design::Anchor| a.tag.clone().unwrap_or_else(|| format!("{}/{} at {}", a.member, a.to, a.at_mm));
    unique("anchors", "tag", design.anchors.iter().map(anchor), violations);
    for (i, member) in design.members.iter().enumerate() {
        tag_ok(format!("members[{i}].tag"), &member.tag, violations);
        text_ok(format!("members[{i}].kind"), &member.kind, violations);
    }
    for (i, deck) in design.decks.iter().enumerate() {
        tag_ok(format!("decks[{i}].tag"), &deck.tag, violations);
    }
    for (i, item) in design.stock.iter().enumerate() {
        text_ok(format!("stock[{i}].name"), &item.name, violations);
    }
    for (i, item) in design.stowage.iter().enumerate() {
        text_ok(format!("stowage[{i}].name"), &item.name, violations);
    }
    for (i, item) in design.people.iter().enumerate() {
        text_ok(format!("people[{i}].name"), &item.name, violations);
    }
    for (i, item) in design.anchors.iter().enumerate() {
        text_ok(format!("anchors[{i}].to"), &item.to, violations);
    }
    for (i, item) in design.loads.iter().enumerate() {
        text_ok(format!("loads[{i}].case"), &item.case, violations);
    }
}

fn design_name(name: &str, violations: &mut Vec<Violation>) {
    let fine = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    if name.is_empty() || name.len() > 40 || !name.chars().all(fine) {
        let message = format!("`{}` is not a design's name", shown(name));
        violations.push(Violation::new("name", message).mend("use 1 to 40 lower-case letters, digits and hyphens"));
    }
}

/// What of a hostile text is shown in a message.
pub fn shown(text: &str) -> String {
    text.chars().filter(|c| !c.is_control()).take(40).collect()
}

/// Checks the name of a vehicle that stands alone: there it is needed.
pub fn of_vehicle(name: &str, violations: &mut Vec<Violation>) {
    if name.trim().is_empty() {
        let mend = "name it as the design files of your group do, e.g. `Curlew`";
        violations.push(Violation::new("vehicle.name", "the vehicle has no name").mend(mend));
    }
    text_ok("vehicle.name".into(), name, violations);
}

fn text_ok(path: String, text: &str, violations: &mut Vec<Violation>) {
    if text.chars().count() > NAME_MAX {
        violations.push(Violation::new(path, format!("longer than {NAME_MAX} characters: `{}...`", shown(text))));
    } else if text.chars().any(char::is_control) {
        violations.push(Violation::new(path, format!("has a control character: `{}`", shown(text))));
    }
}

fn tag_ok(path: String, tag: &str, violations: &mut Vec<Violation>) {
    let first = tag.chars().next().is_some_and(|c| c.is_ascii_alphabetic());
    let rest = tag.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.'));
    if !first || !rest || tag.len() > TAG_MAX {
        let message = format!("`{}` is not a tag", shown(tag));
        let mend = format!("begin with a letter, go on with letters, digits, - _ or ., at most {TAG_MAX}");
        violations.push(Violation::new(path, message).mend(mend));
    }
}

fn unique(list: &str, field: &str, names: impl Iterator<Item = String>, violations: &mut Vec<Violation>) {
    let mut seen: BTreeMap<String, usize> = BTreeMap::new();
    for (i, name) in names.enumerate() {
        if let Some(first) = seen.get(&name) {
            let message = format!("`{}` stands twice, first in {list}[{first}]", shown(&name));
            violations.push(Violation::new(format!("{list}[{i}].{field}"), message).mend("give each its own"));
        } else {
            seen.insert(name, i);
        }
    }
}

/// Checks that every reference points at something, with the nearest name as the mend.
pub fn references(design: &Design, violations: &mut Vec<Violation>) {
    let members: BTreeSet<&str> = design.members.iter().map(|m| m.tag.as_str()).collect();
    let stock: BTreeSet<&str> = design.stock.iter().map(|s| s.name.as_str()).collect();
    let decks: BTreeSet<&str> = design.decks.iter().map(|d| d.tag.as_str()).collect();
    let mut point = |path: String, what: &str, name: &str, known: &BTreeSet<&str>| {
        if !known.contains(name) {
            violations.push(unknown(path, what, name, known));
        }
    };
    for (i, m) in design.members.iter().enumerate() {
        point(format!("members[{i}].stock"), "stock", &m.stock, &stock);
    }
    for (i, j) in design.joints.iter().enumerate() {
        point(format!("joints[{i}].member"), "member", &j.member, &members);
        point(format!("joints[{i}].on"), "member", &j.on, &members);
    }
    for (i, a) in design.anchors.iter().enumerate() {
        point(format!("anchors[{i}].member"), "member", &a.member, &members);
    }
    for (i, d) in design.decks.iter().enumerate() {
        for (k, tag) in d.carried_by.iter().enumerate() {
            point(format!("decks[{i}].carried_by[{k}]"), "member", tag, &members);
        }
        if let DeckSurface::Slats { stock: name, .. } = &d.surface {
            point(format!("decks[{i}].slats.stock"), "stock", name, &stock);
        }
    }
    for (i, p) in design.people.iter().enumerate() {
        point(format!("people[{i}].deck"), "deck", &p.deck, &decks);
    }
    let places: BTreeSet<&str> = members.union(&decks).copied().collect();
    for (i, s) in design.stowage.iter().enumerate() {
        if let Some(on) = &s.on {
            point(format!("stowage[{i}].on"), "deck or member", on, &places);
        }
    }
    for (i, load) in design.loads.iter().enumerate() {
        match &load.what {
            LoadKind::Point { member, .. } | LoadKind::Line { member, .. } | LoadKind::Mass { member, .. } => {
                point(format!("loads[{i}].member"), "member", member, &members);
            }
            LoadKind::Area { deck, .. } => point(format!("loads[{i}].deck"), "deck", deck, &decks),
        }
    }
    self_joints(design, violations);
    materials(design, violations);
}

fn self_joints(design: &Design, violations: &mut Vec<Violation>) {
    let mut carried: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    for (i, j) in design.joints.iter().enumerate() {
        if let Some(first) = carried.get(&(j.on.as_str(), j.member.as_str())).filter(|_| j.member != j.on) {
            let (member, on) = (shown(&j.member), shown(&j.on));
            let message = format!("`{member}` lies on `{on}`, and `{on}` on `{member}` in joints[{first}]");
            let mend = "only one can carry the other: take one of the two joints out";
            violations.push(Violation::new(format!("joints[{i}].on"), message).mend(mend));
        }
        carried.entry((&j.member, &j.on)).or_insert(i);
        if j.member == j.on {
            violations
                .push(Violation::new(format!("joints[{i}].on"), format!("`{}` cannot carry itself", shown(&j.on))));
        }
    }
    for (i, d) in design.decks.iter().enumerate() {
        let mut seen = BTreeSet::new();
        if let Some(k) = d.carried_by.iter().position(|tag| !seen.insert(tag)) {
            let message = format!("`{}` carries deck `{}` twice", shown(&d.carried_by[k]), shown(&d.tag));
            violations.push(Violation::new(format!("decks[{i}].carried_by[{k}]"), message).mend("name it once"));
        }
        if design.members.iter().any(|m| m.tag == d.tag) {
            let message = format!("`{}` is a member's tag already", shown(&d.tag));
            violations.push(Violation::new(format!("decks[{i}].tag"), message));
        }
    }
}

fn materials(design: &Design, violations: &mut Vec<Violation>) {
    for (i, s) in design.stock.iter().enumerate() {
        if let Material::Class(name) = &s.material
            && resolve::stiffness(&s.material, resolve::least_side(&section::properties(&s.section))).is_none()
        {
            let path = format!("stock[{i}].material");
            if tables::knows(name) {
                let message = format!("`{name}` is not sold in the thickness of `{}`", shown(&s.name));
                let sold: Vec<String> = tables::panel::thicknesses(name).map(|t| format!("{t} mm")).collect();
                violations.push(Violation::new(path, message).mend(format!("sold: {}", sold.join(", "))));
            } else {
                let known: BTreeSet<&str> = tables::names().collect();
                violations.push(unknown(path, "material", name, &known));
            }
        }
    }
}

fn unknown(path: String, what: &str, name: &str, known: &BTreeSet<&str>) -> Violation {
    let violation = Violation::new(path, format!("no {what} is called `{}`", shown(name)));
    match nearest(name, known.iter().copied()) {
        Some(near) => violation.mend(format!("did you mean `{near}`?")),
        None if known.is_empty() => violation.mend(format!("the design has no {what}")),
        None => violation.mend(format!("known: {}", known.iter().take(8).copied().collect::<Vec<_>>().join(", "))),
    }
}
