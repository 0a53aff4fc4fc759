//! Tags and patterns: `B3`, and `B*` for every member whose tag is `B` and a number.

/// Longest tag, characters.
pub(crate) const LONGEST_TAG: usize = 24;

/// What keeps a text from being a tag.
pub(crate) fn tag_fault(tag: &str) -> Option<String> {
    let rest = tag.strip_prefix(|c: char| c.is_ascii_alphabetic());
    let plain = rest.is_some_and(|rest| rest.bytes().all(|b| b.is_ascii_alphanumeric() || b"-_.".contains(&b)));
    if !plain {
        Some("a tag is a letter, then letters, digits, `-`, `_` or `.`".to_owned())
    } else if tag.len() > LONGEST_TAG {
        Some(format!("a tag has at most {LONGEST_TAG} characters"))
    } else {
        None
    }
}

/// The letters in front of the `*` of a pattern; `None`: a plain tag.
pub(crate) fn prefix(text: &str) -> Option<&str> {
    text.find('*').map(|at| &text[..at])
}

/// Whether a pattern is sound: one `*`, at its end, after something that could begin a tag.
pub(crate) fn is_sound(pattern: &str) -> bool {
    pattern.strip_suffix('*').is_some_and(|prefix| tag_fault(prefix).is_none())
}

/// Whether a tag is the letters and a number.
pub(crate) fn fits(prefix: &str, tag: &str) -> bool {
    let number = tag.strip_prefix(prefix);
    number.is_some_and(|number| !number.is_empty() && number.bytes().all(|b| b.is_ascii_digit()))
}

/// A tag without the number at its end.
pub(crate) fn without_number(tag: &str) -> &str {
    tag.trim_end_matches(|c: char| c.is_ascii_digit())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tags_and_patterns() {
        for tag in ["B", "B3", "RL-1", "a.b_c"] {
            assert_eq!(tag_fault(tag), None, "{tag}");
        }
        for tag in ["", "3B", "B 3", "Bä", "-B", "B*", "B/3"] {
            assert!(tag_fault(tag).is_some(), "{tag}");
        }
        assert!(tag_fault(&"B".repeat(25)).is_some());
        assert!(is_sound("B*") && !is_sound("*") && !is_sound("B**") && !is_sound("B*L") && !is_sound("B"));
        assert!(fits("B", "B12") && !fits("B", "B") && !fits("B", "B1a") && !fits("B", "BL1"));
    }
}
