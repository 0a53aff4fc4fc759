//! What is to be measured: on something that is there, said in a short text, once.

use super::tags::shown;
use crate::design::to_be_measured::measurable;
use crate::design::{Design, TO_BE_MEASURED_TEXT_MAX, Violation};
use crate::nearest::nearest;
use std::collections::BTreeMap;

/// Checks every entry.
pub fn entries(design: &Design, violations: &mut Vec<Violation>) {
    // The names of a large design are many; most designs name nothing.
    if design.to_be_measured.is_empty() {
        return;
    }
    let known = measurable(design);
    let mut seen = BTreeMap::new();
    for (index, item) in design.to_be_measured.iter().enumerate() {
        let path = format!("to_be_measured[{index}]");
        text(&item.what, format!("{path}.what"), violations);
        if !item.tag.is_empty() && !known.contains(&item.tag) {
            let message = format!("no member, joint, anchor, deck or stock is called `{}`", shown(&item.tag));
            let mend = match nearest(&item.tag, known.iter().map(String::as_str)) {
                Some(near) => format!("did you mean `{near}`?"),
                None => "name one of them or `vehicle`; name nothing for the whole".to_owned(),
            };
            violations.push(Violation::new(format!("{path}.tag"), message).mend(mend));
        }
        if let Some(first) = seen.insert((&item.tag, &item.what), index) {
            seen.insert((&item.tag, &item.what), first);
            let message = format!("`{}` stands twice, first in to_be_measured[{first}]", shown(&item.name()));
            violations.push(Violation::new(format!("{path}.tag"), message).mend("say it once"));
        }
    }
}

fn text(what: &str, path: String, violations: &mut Vec<Violation>) {
    if what.trim().is_empty() {
        let violation = Violation::new(path, "it is not said what is to be measured");
        violations.push(violation.mend("say it in a few words, such as `wall to wheel arch`"));
    } else if what.len() > TO_BE_MEASURED_TEXT_MAX {
        let message = format!("longer than {TO_BE_MEASURED_TEXT_MAX} bytes: `{}...`", shown(what));
        violations.push(Violation::new(path, message).mend("say it in a few words"));
    } else if what.chars().any(char::is_control) {
        violations.push(Violation::new(path, format!("has a control character: `{}`", shown(what))));
    }
}
