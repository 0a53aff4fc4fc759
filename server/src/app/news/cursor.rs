//! Where a reader stands: the last number he has had of each stream, sealed for its way to him and back.

use crate::app::pages::PageTokens;
use crate::app::{AppError, AppResult};
use std::collections::BTreeMap;
use uuid::Uuid;

/// The last number had of each stream.
pub type Places = BTreeMap<Uuid, i64>;

/// First byte of a cursor, for the day its shape changes.
const SHAPE: u8 = 1;
/// Bytes of one stream: its id and a number.
const ENTRY: usize = 24;
/// Longest cursor that is read, letters: that of [`MOST_STREAMS`](super::MOST_STREAMS) streams is shorter.
const LONGEST: usize = 32 * 1024;

fn list(account: Uuid) -> String {
    format!("news of {account}")
}

/// The cursor of an account that stands here.
pub fn seal(pages: &PageTokens, account: Uuid, places: &Places) -> String {
    let mut bytes = vec![SHAPE];
    for (stream, number) in places {
        bytes.extend_from_slice(stream.as_bytes());
        bytes.extend_from_slice(&number.to_be_bytes());
    }
    pages.seal(&list(account), &bytes)
}

/// Where the cursor of an account stands.
///
/// # Errors
/// [`AppError::Invalid`] naming `field` for one that was made up or is another account's.
pub fn open(pages: &PageTokens, account: Uuid, field: &str, cursor: &str) -> AppResult<Places> {
    let bytes = pages.open(&list(account), cursor, LONGEST);
    let places = bytes.as_deref().and_then(|bytes| bytes.strip_prefix(&[SHAPE])).and_then(read);
    places.ok_or_else(|| AppError::invalid(field, "this is not a cursor of this account's news: read without one"))
}

fn read(bytes: &[u8]) -> Option<Places> {
    let entries = bytes.chunks(ENTRY).map(|entry| {
        let (stream, number) = entry.split_at_checked(16)?;
        Some((Uuid::from_slice(stream).ok()?, i64::from_be_bytes(number.try_into().ok()?)))
    });
    entries.collect()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
    use super::*;
    use crate::auth::keys::Keys;

    fn keys() -> Keys {
        Keys { signing: "a".into(), by_id: [("a".to_owned(), vec![1; 32])].into() }
    }

    #[test]
    fn a_cursor_comes_back_to_its_account_alone() {
        let pages = PageTokens::new(&keys());
        let (one, other) = (Uuid::from_u128(1), Uuid::from_u128(2));
        let places = Places::from([(Uuid::nil(), 0), (one, i64::MAX), (other, 7)]);
        let cursor = seal(&pages, one, &places);
        assert_eq!(open(&pages, one, "cursor", &cursor).unwrap(), places);
        assert_eq!(open(&pages, one, "cursor", &seal(&pages, one, &Places::new())).unwrap(), Places::new());
        assert!(open(&pages, other, "cursor", &cursor).is_err(), "another account's");
        for made_up in ["", "0", "zz", &cursor[2..], &cursor[..cursor.len() - 2], &"ab".repeat(40_000)] {
            assert!(open(&pages, one, "cursor", made_up).is_err(), "{made_up:.20}");
        }
        // A page token of the same key is none.
        assert!(open(&pages, one, "cursor", &pages.seal("designs of x", b"a")).is_err());
        let short = pages.seal(&list(one), &[SHAPE, 1, 2, 3]);
        assert!(open(&pages, one, "cursor", &short).is_err(), "half an entry");
    }

    #[test]
    fn the_longest_cursor_is_read() {
        let pages = PageTokens::new(&keys());
        let streams = u128::try_from(super::super::MOST_STREAMS).unwrap();
        let places: Places = (0..streams).map(|n| (Uuid::from_u128(n), 1)).collect();
        let cursor = seal(&pages, Uuid::nil(), &places);
        assert_eq!(open(&pages, Uuid::nil(), "cursor", &cursor).unwrap(), places);
    }
}
