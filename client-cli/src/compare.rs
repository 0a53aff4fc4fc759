//! What changed between two states of a design, item by item; from the server's answer or, before submitting, from the
//! texts at hand.

use battenboard_engine::design::Design;
use serde::Serialize;
use serde_json::Value;

/// What of an item changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ChangeKind {
    /// There afterwards only.
    Added,
    /// There before only.
    Gone,
    /// Not the same.
    Changed,
}

/// A value that is not the same.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct FieldChange {
    /// Which.
    pub field: String,
    /// Before; empty: unset.
    pub before: String,
    /// Afterwards; empty: unset.
    pub after: String,
}

/// An item that was added, is gone or changed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ItemChange {
    /// Tag or name.
    pub tag: String,
    /// What happened to it.
    pub kind: ChangeKind,
    /// What of it changed.
    pub fields: Vec<FieldChange>,
}

/// All changes, by kind of item (`member`, `joint` ...), then of the whole.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Changes {
    /// Kind of item, and its items.
    pub items: Vec<(String, Vec<ItemChange>)>,
    /// Title, vehicle, settings.
    pub whole: Vec<FieldChange>,
}

impl Changes {
    /// True when nothing is different.
    pub fn is_empty(&self) -> bool {
        self.whole.is_empty() && self.items.iter().all(|(_, items)| items.is_empty())
    }
}

/// Compares two designs.
pub fn compare(before: &Design, after: &Design) -> Changes {
    let measured = list_changes(&to_be_measured(before), &to_be_measured(after));
    let (before, after) = (to_value(before), to_value(after));
    let lists = [
        ("member", "members", "tag"),
        ("joint", "joints", ""),
        ("anchor", "anchors", ""),
        ("deck", "decks", "tag"),
        ("stock", "stock", "name"),
        ("stowage", "stowage", "name"),
        ("people", "people", "name"),
        ("load", "loads", "case"),
    ];
    let mut changes = Changes::default();
    for (name, list, key) in lists {
        let items = list_changes(&named(&before[list], key), &named(&after[list], key));
        changes.items.push((name.to_owned(), items));
    }
    changes.items.push(("to be measured".to_owned(), measured));
    for field in ["name", "title"] {
        changes.whole.extend(field_change(field, &before[field], &after[field]));
    }
    for part in ["vehicle", "settings"] {
        let fields = object_changes(&before[part], &after[part]);
        changes.whole.extend(
            fields.into_iter().map(|change| FieldChange { field: format!("{part} {}", change.field), ..change }),
        );
    }
    changes
}

fn to_value(design: &Design) -> Value {
    // Plain data without odd keys: it always has a JSON form.
    serde_json::to_value(design).unwrap_or(Value::Null)
}

/// Items with their names; a second item of a name gets a number behind it.
fn named(list: &Value, key: &str) -> Vec<(String, Value)> {
    let mut found: Vec<(String, Value)> = Vec::new();
    for item in list.as_array().into_iter().flatten() {
        let name = match key {
            "" => joint_name(item),
            key => item[key].as_str().unwrap_or_default().to_owned(),
        };
        let same = found.iter().filter(|(other, _)| other.split(" no. ").next() == Some(&name)).count();
        let name = if same == 0 { name } else { format!("{name} no. {}", same + 1) };
        found.push((name, item.clone()));
    }
    found
}

/// What is to be measured, by tag and text: another text is another thing.
fn to_be_measured(design: &Design) -> Vec<(String, Value)> {
    design.to_be_measured.iter().map(|item| (item.name(), Value::Null)).collect()
}

/// The tag of a joint or anchor, given or made of what it joins.
fn joint_name(item: &Value) -> String {
    let text = |field: &str| item[field].as_str();
    if let Some(tag) = text("tag") {
        return tag.to_owned();
    }
    match (text("on"), text("member"), text("to")) {
        (Some(on), Some(member), _) => format!("{on}/{member}"),
        (None, Some(member), Some(to)) => format!("{member}/{to}"),
        _ => String::new(),
    }
}

fn list_changes(before: &[(String, Value)], after: &[(String, Value)]) -> Vec<ItemChange> {
    let find = |list: &[(String, Value)], name: &str| list.iter().find(|(other, _)| other == name).cloned();
    let mut changes = Vec::new();
    for (name, new) in after {
        match find(before, name) {
            None => changes.push(ItemChange { tag: name.clone(), kind: ChangeKind::Added, fields: Vec::new() }),
            Some((_, old)) => {
                let fields = object_changes(&old, new);
                if !fields.is_empty() {
                    changes.push(ItemChange { tag: name.clone(), kind: ChangeKind::Changed, fields });
                }
            }
        }
    }
    for (name, _) in before {
        if find(after, name).is_none() {
            changes.push(ItemChange { tag: name.clone(), kind: ChangeKind::Gone, fields: Vec::new() });
        }
    }
    changes
}

fn object_changes(before: &Value, after: &Value) -> Vec<FieldChange> {
    let (Some(before), Some(after)) = (before.as_object(), after.as_object()) else { return Vec::new() };
    let mut fields: Vec<&String> = before.keys().chain(after.keys()).collect();
    fields.sort();
    fields.dedup();
    let nothing = Value::Null;
    fields
        .into_iter()
        .filter_map(|field| {
            field_change(field, before.get(field).unwrap_or(&nothing), after.get(field).unwrap_or(&nothing))
        })
        .collect()
}

fn field_change(field: &str, before: &Value, after: &Value) -> Option<FieldChange> {
    (before != after).then(|| FieldChange {
        // The units of the typed fields are those of a bare number in the file.
        field: plain_field(field),
        before: written(before),
        after: written(after),
    })
}

fn plain_field(field: &str) -> String {
    ["_mm", "_kg", "_deg", "_n"].iter().find_map(|unit| field.strip_suffix(unit)).unwrap_or(field).replace('_', " ")
}

fn written(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::String(text) => text.clone(),
        Value::Number(number) => number.as_f64().map_or_else(|| number.to_string(), |number| number.to_string()),
        Value::Array(items) => format!("[{}]", items.iter().map(written).collect::<Vec<_>>().join(", ")),
        Value::Object(fields) => {
            let parts: Vec<String> =
                fields.iter().map(|(name, value)| format!("{} {}", plain_field(name), written(value))).collect();
            parts.join(", ")
        }
        Value::Bool(yes) => (if *yes { "yes" } else { "no" }).to_owned(),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]
    use super::*;
    use crate::output::samples;

    #[test]
    fn a_changed_stock_a_gone_and_an_added_member() {
        let before = samples::design();
        let mut after = before.clone();
        after.members[2].stock = "45x70".into();
        let mut added = after.members[4].clone();
        after.members.remove(3);
        added.tag = "B9".into();
        after.members.push(added);
        after.title = "Another".into();
        let changes = compare(&before, &after);
        let members: Vec<(&str, ChangeKind)> =
            changes.items[0].1.iter().map(|change| (change.tag.as_str(), change.kind)).collect();
        assert_eq!(members, [("B1", ChangeKind::Changed), ("B9", ChangeKind::Added), ("B2", ChangeKind::Gone)]);
        let stock = &changes.items[0].1[0].fields[0];
        assert_eq!((stock.field.as_str(), stock.before.as_str(), stock.after.as_str()), ("stock", "38x63", "45x70"));
        assert_eq!(changes.whole[0].field, "title");
        assert!(compare(&before, &before).is_empty());
    }

    #[test]
    fn what_is_measured_by_now_is_gone() {
        let open =
            |tag: &str, what: &str| battenboard_engine::design::ToBeMeasured { tag: tag.into(), what: what.into() };
        let mut before = samples::design();
        before.to_be_measured = vec![open("B3", "wall to wheel arch"), open("", "floor")];
        let mut after = samples::design();
        after.to_be_measured = vec![open("", "floor"), open("vehicle", "height inside")];
        let changes = compare(&before, &after);
        let (name, items) = changes.items.last().unwrap();
        assert_eq!(name, "to be measured");
        let told: Vec<(&str, ChangeKind)> = items.iter().map(|item| (item.tag.as_str(), item.kind)).collect();
        assert_eq!(told, [("vehicle: height inside", ChangeKind::Added), ("B3: wall to wheel arch", ChangeKind::Gone)]);
        assert!(compare(&after, &after).is_empty());
    }
}
