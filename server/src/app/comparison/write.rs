//! Values as the design file would write them.

use serde_json::Value;

/// Units at the end of the model's field names, which the file leaves out; the longest first.
const UNITS: &[&str] = &["_kg_m3", "_n_mm2", "_mm2", "_mm3", "_mm4", "_n_mm", "_mm", "_kg", "_n", "_deg"];
/// Names of directions of a stated hold, in the model's order.
const DIRECTIONS: [&str; 6] = ["x", "y", "z", "turn_x", "turn_y", "turn_z"];
/// Variants whose content stands for itself in the file.
const TRANSPARENT: &[&str] = &[
    "rectangle",
    "round",
    "rectangular_tube",
    "round_tube",
    "given",
    "class",
    "spring",
    "point",
    "line",
    "mass",
    "area",
];

/// The file's key of a field.
pub fn key(field: &str) -> String {
    match field {
        "grading" => return "grade".to_owned(),
        "price_per_m" => return "price".to_owned(),
        _ => {}
    }
    let unit = UNITS.iter().find(|unit| field.ends_with(**unit));
    unit.map_or(field, |unit| &field[..field.len() - unit.len()]).to_owned()
}

/// A value in the file's writing; empty: unset.
pub fn value(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::Number(number) => number.as_f64().map_or_else(|| number.to_string(), |number| number.to_string()),
        Value::Bool(_) | Value::String(_) => value.to_string(),
        Value::Array(items) => {
            let items: Vec<String> = items.iter().map(self::value).collect();
            format!("[{}]", items.join(", "))
        }
        Value::Object(fields) => {
            if fields.len() == 1
                && let Some((name, inner)) = fields.iter().next()
                && TRANSPARENT.contains(&name.as_str())
            {
                return hold(inner).unwrap_or_else(|| self::value(inner));
            }
            let set = fields.iter().filter(|(_, inner)| !inner.is_null());
            let mut fields: Vec<String> =
                set.map(|(name, inner)| format!("{} = {}", key(name), self::value(inner))).collect();
            fields.sort_unstable();
            format!("{{ {} }}", fields.join(", "))
        }
    }
}

/// A stated hold names its directions; free ones are left out.
fn hold(inner: &Value) -> Option<String> {
    let grips = inner.as_array().filter(|grips| grips.len() == DIRECTIONS.len())?;
    let held = grips.iter().zip(DIRECTIONS).filter(|(grip, _)| grip.as_str() != Some("free"));
    let held: Vec<String> = held.map(|(grip, direction)| format!("{direction} = {}", value(grip))).collect();
    Some(format!("{{ {} }}", held.join(", ")))
}

/// A tag split so that `B2` comes before `B10`.
pub fn natural(tag: &str) -> Vec<(String, u64)> {
    let mut parts = Vec::new();
    let mut rest = tag;
    while !rest.is_empty() {
        let words = rest.find(|c: char| c.is_ascii_digit()).unwrap_or(rest.len());
        let (word, after) = rest.split_at(words);
        let digits = after.find(|c: char| !c.is_ascii_digit()).unwrap_or(after.len());
        let (number, left) = after.split_at(digits);
        parts.push((word.to_owned(), number.parse().unwrap_or(0)));
        rest = left;
    }
    parts
}

#[cfg(test)]
mod tests {
    use super::{key, natural, value};
    use serde_json::json;

    #[test]
    fn keys_lose_their_units_and_keep_their_meaning() {
        let pairs = [
            ("at_mm", "at"),
            ("held_depth_mm", "held_depth"),
            ("iy_mm4", "iy"),
            ("start_n_mm", "start"),
            ("e_n_mm2", "e"),
            ("stock", "stock"),
            ("from", "from"),
        ];
        for (field, wanted) in pairs {
            assert_eq!(key(field), wanted);
        }
    }

    #[test]
    fn holds_name_what_they_hold() {
        let given = json!({"given": ["rigid", "free", {"spring": 450.0}, "free", "free", "free"]});
        assert_eq!(value(&given), "{ x = \"rigid\", z = 450 }");
        assert_eq!(value(&json!("seated")), "\"seated\"");
        assert_eq!(value(&json!(null)), "");
    }

    #[test]
    fn tags_are_in_the_order_of_their_numbers() {
        assert!(natural("B2") < natural("B10"));
        assert!(natural("B10") < natural("P1"));
    }
}
