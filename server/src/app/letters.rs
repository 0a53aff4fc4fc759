//! Letters of revisions: A to Z without I and O, then AA, AB and so on (drawing-office practice).

/// The letters in use.
const LETTERS: &[u8; 24] = b"ABCDEFGHJKLMNPQRSTUVWXYZ";
/// Longer texts are no letter: 24^8 revisions are more than anybody makes.
const MOST: usize = 8;

/// The letter of an ordinal; ordinals count from 1, anything less has none.
pub fn letter(ordinal: i64) -> String {
    let mut left = ordinal.max(0);
    let mut letters = Vec::new();
    while left > 0 {
        let at = usize::try_from((left - 1) % 24).unwrap_or_default();
        letters.push(char::from(LETTERS[at]));
        left = (left - 1) / 24;
    }
    letters.iter().rev().collect()
}

/// The ordinal of a letter, in either case; `None` for what is no letter.
pub fn ordinal(letter: &str) -> Option<i64> {
    if letter.is_empty() || letter.len() > MOST {
        return None;
    }
    letter.bytes().try_fold(0_i64, |sum, byte| {
        let at = LETTERS.iter().position(|known| *known == byte.to_ascii_uppercase())?;
        Some(sum * 24 + i64::try_from(at).ok()? + 1)
    })
}

#[cfg(test)]
mod tests {
    use super::{letter, ordinal};

    #[test]
    fn the_row_skips_i_and_o_and_goes_on_with_two() {
        let row: Vec<String> = (1..=27).map(letter).collect();
        assert_eq!(row.join(" "), "A B C D E F G H J K L M N P Q R S T U V W X Y Z AA AB AC");
        assert_eq!(letter(24 + 24 * 24), "ZZ");
        assert_eq!(letter(24 + 24 * 24 + 1), "AAA");
        assert_eq!(letter(0), "");
        assert_eq!(letter(-3), "");
    }

    #[test]
    fn letters_go_both_ways() {
        for n in 1..20_000 {
            assert_eq!(ordinal(&letter(n)), Some(n));
        }
        assert_eq!(ordinal("aa"), Some(25));
        for no in ["", "I", "O", "AO", "1", "A1", "É", "AAAAAAAAA"] {
            assert_eq!(ordinal(no), None, "{no}");
        }
    }
}
