//! What changed from one revision to another, and what that did.

mod effects;
mod stored;
mod write;

pub use effects::Effects;
pub use stored::Compared;

use super::tags::joint_tag;
use battenboard_engine::design::{Anchor, Design, ToBeMeasured};
use battenboard_engine::findings::Verdict;
use serde::Serialize;
use serde_json::Value;
use std::collections::BTreeMap;

/// What happened to an item.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ChangeKind {
    /// There afterwards, not before.
    Added,
    /// There before, not afterwards.
    Gone,
    /// There before and afterwards, not the same.
    Changed,
}

/// A value that is not the same; empty: unset.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FieldChange {
    /// Key in the design file.
    pub field: String,
    /// Before, as the design file would write it.
    pub before: String,
    /// Afterwards.
    pub after: String,
}

/// An item that is not the same.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ItemChange {
    /// Tag or name.
    pub tag: String,
    /// What happened to it.
    pub kind: ChangeKind,
    /// What of it changed.
    pub fields: Vec<FieldChange>,
}

/// A figure of one member or deck: its greatest utilisation, or its final sag in mm.
#[derive(Clone, Debug, PartialEq)]
pub struct FigureChange {
    /// Member or deck.
    pub tag: String,
    /// Before.
    pub before: Option<f64>,
    /// Afterwards.
    pub after: Option<f64>,
}

/// What changed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Comparison {
    /// Members, by tag.
    pub members: Vec<ItemChange>,
    /// Joints, by tag.
    pub joints: Vec<ItemChange>,
    /// Anchors, by tag.
    pub anchors: Vec<ItemChange>,
    /// Decks, by tag.
    pub decks: Vec<ItemChange>,
    /// Stock, by name.
    pub stock: Vec<ItemChange>,
    /// Stowage, by name.
    pub stowage: Vec<ItemChange>,
    /// People, by name.
    pub people: Vec<ItemChange>,
    /// Loads, by case.
    pub loads: Vec<ItemChange>,
    /// What is to be measured, by tag and text: another text is another thing.
    pub to_be_measured: Vec<ItemChange>,
    /// Title, vehicle and settings.
    pub whole: Vec<FieldChange>,
    /// Verdicts before and afterwards.
    pub verdicts: [Option<Verdict>; 2],
    /// Total masses before and afterwards, kg.
    pub masses_kg: [Option<f64>; 2],
    /// Greatest utilisations, the greatest afterwards first.
    pub utilisations: Vec<FigureChange>,
    /// Final sags, mm, the greatest afterwards first.
    pub sags_mm: Vec<FigureChange>,
    /// True where the server's figures are kept from the caller.
    pub withheld: bool,
}

impl Comparison {
    /// The same without anything that was computed.
    #[must_use]
    pub fn without_figures(self) -> Self {
        let (verdicts, masses_kg) = ([None, None], [None, None]);
        Self { verdicts, masses_kg, utilisations: Vec::new(), sags_mm: Vec::new(), withheld: true, ..self }
    }
}

/// Compares two designs with what was found of them, where it was.
pub fn compare(before: (&Design, Option<&Effects>), after: (&Design, Option<&Effects>)) -> Comparison {
    let (old, new) = (before.0, after.0);
    Comparison {
        members: items(&old.members, &new.members, |item| item.tag.clone(), &["tag"]),
        joints: items(&old.joints, &new.joints, joint_tag, &["tag"]),
        anchors: items(&old.anchors, &new.anchors, anchor_name, &["tag"]),
        decks: items(&old.decks, &new.decks, |item| item.tag.clone(), &["tag"]),
        stock: items(&old.stock, &new.stock, |item| item.name.clone(), &["name"]),
        stowage: items(&old.stowage, &new.stowage, |item| item.name.clone(), &["name"]),
        people: items(&old.people, &new.people, |item| item.name.clone(), &["name"]),
        loads: items(&old.loads, &new.loads, |item| item.case.clone(), &["case"]),
        to_be_measured: items(&old.to_be_measured, &new.to_be_measured, ToBeMeasured::name, &[]),
        whole: whole(old, new),
        verdicts: [before.1, after.1].map(|effects| effects.map(|effects| effects.verdict)),
        masses_kg: [before.1, after.1].map(|effects| effects.map(|effects| effects.total_mass_kg)),
        utilisations: figures(before.1, after.1, |effects| &effects.utilisations),
        sags_mm: figures(before.1, after.1, |effects| &effects.sags_mm),
        withheld: false,
    }
}

/// Name of an anchor without its place, so that one that only moved is changed and not gone and new.
fn anchor_name(anchor: &Anchor) -> String {
    anchor.tag.clone().unwrap_or_else(|| format!("{}/{}", anchor.member, anchor.to))
}

/// Changes of a row of items. Items of one name (two loads of a case, two anchors of a member) are paired in their
/// order.
fn items<T: PartialEq + Serialize>(
    old: &[T],
    new: &[T],
    name: impl Fn(&T) -> String,
    is_name: &[&str],
) -> Vec<ItemChange> {
    let (old, new) = (named(old, &name), named(new, &name));
    let mut changes = Vec::new();
    for ((tag, place), before) in &old {
        match new.get(&(tag.clone(), *place)) {
            None => changes.push(ItemChange { tag: tag.clone(), kind: ChangeKind::Gone, fields: Vec::new() }),
            Some(after) if before == after => {}
            Some(after) => {
                let fields = field_changes(before, after, is_name);
                changes.push(ItemChange { tag: tag.clone(), kind: ChangeKind::Changed, fields });
            }
        }
    }
    for (tag, _) in new.keys().filter(|key| !old.contains_key(key)) {
        changes.push(ItemChange { tag: tag.clone(), kind: ChangeKind::Added, fields: Vec::new() });
    }
    changes.sort_by_key(|change| write::natural(&change.tag));
    changes
}

fn named<T>(row: &[T], name: impl Fn(&T) -> String) -> BTreeMap<(String, usize), &T> {
    let mut seen: BTreeMap<String, usize> = BTreeMap::new();
    let place = |item| {
        let tag = name(item);
        let place = seen.entry(tag.clone()).or_default();
        *place += 1;
        ((tag, *place), item)
    };
    row.iter().map(place).collect()
}

fn field_changes<T: Serialize>(before: &T, after: &T, is_name: &[&str]) -> Vec<FieldChange> {
    // Plain data with text keys: there is no part of it that JSON cannot hold.
    let fields = |item: &T| match serde_json::to_value(item) {
        Ok(Value::Object(fields)) => fields.into_iter().collect::<BTreeMap<String, Value>>(),
        _ => BTreeMap::new(),
    };
    let (old, new) = (fields(before), fields(after));
    let keys = old.keys().chain(new.keys().filter(|key| !old.contains_key(*key)));
    let changed = keys.filter(|key| !is_name.contains(&key.as_str()) && old.get(*key) != new.get(*key));
    let change = |key: &String| FieldChange {
        field: write::key(key),
        before: old.get(key).map(write::value).unwrap_or_default(),
        after: new.get(key).map(write::value).unwrap_or_default(),
    };
    changed.map(change).collect()
}

fn whole(old: &Design, new: &Design) -> Vec<FieldChange> {
    let mut changes = Vec::new();
    if old.title != new.title {
        let text = |title: &str| write::value(&Value::String(title.to_owned()));
        changes.push(FieldChange { field: "title".into(), before: text(&old.title), after: text(&new.title) });
    }
    let under = |table: &str, mut fields: Vec<FieldChange>| {
        for change in &mut fields {
            change.field = format!("{table}.{}", change.field);
        }
        fields
    };
    changes.extend(under("vehicle", field_changes(&old.vehicle, &new.vehicle, &[])));
    changes.extend(under("check", field_changes(&old.settings, &new.settings, &[])));
    changes
}

/// One figure of each tag on both sides, the greatest afterwards first.
fn figures<'e>(
    before: Option<&'e Effects>,
    after: Option<&'e Effects>,
    of: impl Fn(&'e Effects) -> &'e BTreeMap<String, f64>,
) -> Vec<FigureChange> {
    let none = BTreeMap::new();
    let (old, new) = (before.map_or(&none, |effects| of(effects)), after.map_or(&none, |effects| of(effects)));
    let tags = old.keys().chain(new.keys().filter(|tag| !old.contains_key(*tag)));
    let change =
        |tag: &String| FigureChange { tag: tag.clone(), before: old.get(tag).copied(), after: new.get(tag).copied() };
    let mut changes: Vec<FigureChange> = tags.map(change).collect();
    let order = |change: &FigureChange| change.after.unwrap_or(f64::NEG_INFINITY);
    changes.sort_by(|a, b| order(b).total_cmp(&order(a)).then_with(|| a.tag.cmp(&b.tag)));
    changes
}

#[cfg(test)]
mod tests {
    use super::*;
    use battenboard_engine::design::{Anchor, Hold, Material, Member, Section, Stock};

    fn member(tag: &str, stock: &str, to: [f64; 3]) -> Member {
        Member { tag: tag.into(), stock: stock.into(), to, ..Member::default() }
    }

    fn change(field: &str, before: &str, after: &str) -> FieldChange {
        FieldChange { field: field.into(), before: before.into(), after: after.into() }
    }

    #[test]
    fn members_are_told_by_tag_with_what_changed() {
        let old = Design {
            members: vec![
                member("B2", "38x63", [0.0; 3]),
                member("B10", "38x63", [0.0; 3]),
                member("P1", "45x45", [0.0; 3]),
            ],
            ..Design::default()
        };
        let new = Design {
            members: vec![
                member("B2", "45x70", [0.0, 640.5, 0.0]),
                member("B10", "45x70", [0.0; 3]),
                member("P2", "45x45", [0.0; 3]),
            ],
            ..Design::default()
        };
        let comparison = compare((&old, None), (&new, None));
        let tags: Vec<_> = comparison.members.iter().map(|item| (item.tag.as_str(), item.kind)).collect();
        let wanted = [
            ("B2", ChangeKind::Changed),
            ("B10", ChangeKind::Changed),
            ("P1", ChangeKind::Gone),
            ("P2", ChangeKind::Added),
        ];
        assert_eq!(tags, wanted);
        let fields = &comparison.members[0].fields;
        assert_eq!(fields[..], [change("stock", "\"38x63\"", "\"45x70\""), change("to", "[0, 0, 0]", "[0, 640.5, 0]")]);
        assert_eq!(comparison.verdicts, [None, None]);
    }

    #[test]
    fn stock_is_written_as_the_file_writes_it() {
        let stock = |depth_mm: f64, class: &str| Stock {
            name: "rail".into(),
            section: Section::Rectangle { width_mm: 45.0, depth_mm },
            material: Material::Class(class.into()),
            grading: Default::default(),
            lengths_mm: vec![2400.0],
            price_per_m: None,
            resawn: false,
        };
        let old = Design { stock: vec![stock(70.0, "C16")], ..Design::default() };
        let new = Design { stock: vec![stock(95.0, "C24")], ..Design::default() };
        let comparison = compare((&old, None), (&new, None));
        let fields = &comparison.stock[0].fields;
        assert!(fields.contains(&change("material", "\"C16\"", "\"C24\"")), "{fields:?}");
        let section = change("section", "{ depth = 70, width = 45 }", "{ depth = 95, width = 45 }");
        assert!(fields.contains(&section), "{fields:?}");
    }

    #[test]
    fn items_of_one_name_are_paired_in_their_order() {
        let anchor = |at_mm: f64| Anchor {
            member: "RL".into(),
            to: "wall".into(),
            at_mm,
            hold: Hold::Pinned,
            ..Anchor::default()
        };
        let old = Design { anchors: vec![anchor(0.0), anchor(900.0)], title: "a".into(), ..Design::default() };
        let new = Design { anchors: vec![anchor(0.0), anchor(950.0)], title: "b".into(), ..Design::default() };
        let comparison = compare((&old, None), (&new, None));
        assert_eq!(comparison.anchors.len(), 1);
        assert_eq!(comparison.anchors[0].tag, "RL/wall");
        assert_eq!(comparison.anchors[0].fields[..], [change("at", "900", "950")]);
        assert_eq!(comparison.whole[..], [change("title", "\"a\"", "\"b\"")]);
    }

    #[test]
    fn what_is_measured_by_now_is_gone_and_what_is_not_is_new() {
        let design = |entries: &[(&str, &str)]| Design {
            to_be_measured: entries
                .iter()
                .map(|(tag, what)| ToBeMeasured { tag: (*tag).into(), what: (*what).into() })
                .collect(),
            ..Design::default()
        };
        let old = design(&[("B3", "wall to wheel arch"), ("", "floor"), ("vehicle", "height inside")]);
        let new = design(&[("", "floor"), ("vehicle", "height inside, lined"), ("B3", "length")]);
        let comparison = compare((&old, None), (&new, None));
        let told: Vec<_> = comparison.to_be_measured.iter().map(|item| (item.tag.as_str(), item.kind)).collect();
        let wanted = [
            ("B3: length", ChangeKind::Added),
            ("B3: wall to wheel arch", ChangeKind::Gone),
            ("vehicle: height inside", ChangeKind::Gone),
            ("vehicle: height inside, lined", ChangeKind::Added),
        ];
        assert_eq!(told, wanted);
        assert_eq!(compare((&old, None), (&old, None)).to_be_measured, []);
    }
}
