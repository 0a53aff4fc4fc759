//! Keys and values as text.

/// The text as it grows.
#[derive(Default)]
pub(super) struct Page(pub(super) String);

impl Page {
    pub(super) fn open(&mut self, heading: &str) {
        self.0.push('\n');
        self.0.push_str(heading);
        self.0.push('\n');
    }

    pub(super) fn put(&mut self, key: &str, value: impl AsRef<str>) {
        for part in [key, " = ", value.as_ref(), "\n"] {
            self.0.push_str(part);
        }
    }

    pub(super) fn text(&mut self, key: &str, value: &str) {
        self.put(key, quoted(value));
    }

    pub(super) fn number(&mut self, key: &str, value: f64) {
        self.put(key, number(value));
    }

    pub(super) fn maybe(&mut self, key: &str, value: Option<f64>) {
        if let Some(value) = value {
            self.number(key, value);
        }
    }

    /// A key that stands only where it is true.
    pub(super) fn flag(&mut self, key: &str, value: bool) {
        if value {
            self.put(key, "true");
        }
    }

    /// Tables in one line; nothing where there are none.
    pub(super) fn list<T>(&mut self, key: &str, items: &[T], item: impl Fn(&T) -> String) {
        if !items.is_empty() {
            let items: Vec<String> = items.iter().map(item).collect();
            self.put(key, format!("[{}]", items.join(", ")));
        }
    }

    pub(super) fn numbers(&mut self, key: &str, values: &[f64]) {
        self.put(key, list(values));
    }
}

/// A text in quotes, with what can't stand in them written out.
pub(crate) fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            c if c.is_control() => out.push_str(&format!("\\U{:08X}", u32::from(c))),
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

/// The shortest number that reads back to the same value.
pub(crate) fn number(value: f64) -> String {
    if value == 0.0 {
        "0".to_owned()
    } else if value.fract() == 0.0 && value.abs() < 1e15 {
        format!("{value:.0}")
    } else {
        format!("{value:?}")
    }
}

pub(super) fn list(values: &[f64]) -> String {
    let numbers: Vec<String> = values.iter().copied().map(number).collect();
    format!("[{}]", numbers.join(", "))
}
