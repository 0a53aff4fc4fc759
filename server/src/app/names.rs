//! Short names and short texts: what may stand in them, and the nearest of a row to one that is not in it.

use super::error::Fault;

/// Most letters of a short name.
const MOST_LETTERS: usize = 40;

/// Looks at a short name: a to z, 0 to 9 and hyphens, a letter first, at most 40.
pub fn name_faults(path: &str, name: &str, least: usize) -> Vec<Fault> {
    let sound = name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-');
    let begins = name.starts_with(|c: char| c.is_ascii_lowercase());
    if sound && begins && (least..=MOST_LETTERS).contains(&name.len()) {
        return Vec::new();
    }
    let shown: String = name.chars().take(MOST_LETTERS).collect();
    let fault = Fault::of(path, format!("`{}` is no name", shown.escape_debug()));
    vec![fault.mend(format!("a letter first, then a to z, 0 to 9 and hyphens, {least} to {MOST_LETTERS} letters"))]
}

/// Looks at a text: at most so many bytes, no NUL, and something in it if it has to.
pub fn text_faults(path: &str, text: &str, most_bytes: usize, needed: bool) -> Vec<Fault> {
    let mut faults = Vec::new();
    if needed && text.trim().is_empty() {
        faults.push(Fault::of(path, "nothing is written here"));
    }
    if text.len() > most_bytes {
        faults.push(Fault::of(path, format!("{} bytes, at most {most_bytes} are taken", text.len())));
    }
    if text.contains('\0') {
        faults.push(Fault::of(path, "there is a NUL character in it"));
    }
    faults
}

/// The nearest of a row to a text, if any is near.
pub fn nearest<'a>(text: &str, row: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let most = text.chars().count().div_ceil(2).max(1);
    let near = row.into_iter().map(|known| (steps(text, known), known));
    near.filter(|(steps, _)| *steps <= most).min().map(|(_, known)| known)
}

/// Letters to put in, take out or change, to get from one text to the other; case does not count.
fn steps(one: &str, other: &str) -> usize {
    let (one, other) = (one.to_lowercase(), other.to_lowercase());
    let other: Vec<char> = other.chars().collect();
    let mut row: Vec<usize> = (0..=other.len()).collect();
    for (i, a) in one.chars().enumerate() {
        let mut diagonal = std::mem::replace(&mut row[0], i + 1);
        for (j, b) in other.iter().enumerate() {
            let changed = diagonal + usize::from(a != *b);
            diagonal = row[j + 1];
            row[j + 1] = changed.min(diagonal + 1).min(row[j] + 1);
        }
    }
    row.last().copied().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::{name_faults, nearest, text_faults};

    #[test]
    fn names_are_plain() {
        for good in ["saltmarsh-wheels", "a1", "okoro"] {
            assert!(name_faults("name", good, 2).is_empty(), "{good}");
        }
        for bad in ["", "a", "1a", "-a", "A", "ä", "a b", "a\0", &"a".repeat(41)] {
            assert_eq!(name_faults("name", bad, 2).len(), 1, "{bad}");
        }
    }

    #[test]
    fn texts_are_bounded() {
        assert!(text_faults("text", "well made", 10, true).is_empty());
        assert_eq!(text_faults("text", "  ", 10, true).len(), 1);
        assert_eq!(text_faults("text", "0123456789a\0", 10, true).len(), 2);
        assert!(text_faults("note", "", 10, false).is_empty());
    }

    #[test]
    fn the_nearest_tag_is_found() {
        assert_eq!(nearest("b3", ["B1", "B3", "RL"]), Some("B3"));
        assert_eq!(nearest("RL/B33", ["RL/B3", "RR/B3"]), Some("RL/B3"));
        assert_eq!(nearest("trestle", ["B1", "B3"]), None);
    }
}
