//! The known word nearest to a mistyped one: the one search for all that reads names.

/// The candidate that was probably meant: same letters in another case, or few typing slips away. The first of equals.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let word_chars: Vec<char> = word.chars().take(64).flat_map(char::to_lowercase).collect();
    let limit = (word_chars.len() / 3).clamp(1, 3);
    let mut best: Option<(usize, &str)> = None;
    for candidate in candidates {
        let chars: Vec<char> = candidate.chars().take(64).flat_map(char::to_lowercase).collect();
        let reach = best.map_or(limit + 1, |(slips, _)| slips);
        if reach == 0 || chars.len().abs_diff(word_chars.len()) >= reach {
            continue;
        }
        let slips = distance(&word_chars, &chars);
        if slips < reach {
            best = Some((slips, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}

/// Edit distance with neighbouring letters swapped counting once (optimal string alignment).
fn distance(a: &[char], b: &[char]) -> usize {
    let mut before: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.iter().enumerate() {
        let mut row = Vec::with_capacity(b.len() + 1);
        row.push(i + 1);
        for (j, y) in b.iter().enumerate() {
            let mut cost = (last[j] + usize::from(x != y)).min(last[j + 1] + 1).min(row[j] + 1);
            if i > 0 && j > 0 && *x == b[j - 1] && a[i - 1] == *y {
                cost = cost.min(before[j - 1] + 1);
            }
            row.push(cost);
        }
        before = std::mem::replace(&mut last, row);
    }
    last.last().copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn slips_swaps_and_case() {
        assert_eq!(nearest("widht", ["depth", "width"]), Some("width"));
        assert_eq!(nearest("RAIL", ["rail"]), Some("rail"));
        assert_eq!(nearest("b3", ["B2", "B3"]), Some("B3"));
        assert_eq!(nearest("B9", ["B1", "B2"]), Some("B1"));
        assert_eq!(nearest("colour", ["count", "step"]), None);
        assert_eq!(nearest("", ["a"]), Some("a"));
        assert_eq!(nearest("x", []), None);
    }
}
