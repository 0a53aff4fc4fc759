//! Pages of lists: sizes, and tokens that say where the next page begins.
//!
//! A token is opaque and bound to its list by a keyed digest: one that was made up, altered, or comes from another list
//! (another method, group, filter or account) is refused.

use super::error::{AppError, AppResult};
use crate::auth::codes::{hex, unhex};
use crate::auth::keys::Keys;
use sha2::{Digest, Sha256};
use std::sync::{PoisonError, RwLock};

/// Entries on a page when nothing is said.
const USUAL: u64 = 50;
/// Most entries on a page.
pub const MOST: u64 = 200;
/// Bytes of the digest in a token.
const DIGEST: usize = 16;
/// Longer texts are no token of ours.
const LONGEST_TOKEN: usize = 1024;

/// Makes and reads page tokens.
pub struct PageTokens {
    /// The first seals; all open.
    keys: RwLock<Vec<Vec<u8>>>,
}

/// What of a list is wanted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Page {
    /// Entries on the page.
    pub size: u64,
    /// Where it begins: after this key.
    pub after: Option<String>,
    /// The list, for the token of the next page.
    list: String,
}

impl PageTokens {
    /// Takes the keys; servers that share a database share them, so that any of them reads the other's tokens.
    pub fn new(keys: &Keys) -> Self {
        Self { keys: RwLock::new(derived(keys)) }
    }

    /// Takes other keys from now on.
    pub fn replace(&self, keys: &Keys) {
        *self.keys.write().unwrap_or_else(PoisonError::into_inner) = derived(keys);
    }

    /// Reads what a caller wants of a list. `list` names it with everything that makes it this list and no other.
    ///
    /// # Errors
    /// [`AppError::Invalid`] for a negative size or a token of another list.
    pub fn read(&self, list: String, size: i32, token: &str) -> AppResult<Page> {
        let size = self::size(size)?;
        let after = match token {
            "" => None,
            token => {
                let opened = self.open(&list, token, LONGEST_TOKEN).and_then(|key| String::from_utf8(key).ok());
                Some(opened.ok_or_else(|| AppError::invalid("page_token", "this is not a page token of this list"))?)
            }
        };
        Ok(Page { size, after, list })
    }

    /// Cuts a list that was read with one entry too many to the page, and makes the token of the next.
    pub fn cut<T>(&self, page: &Page, rows: &mut Vec<T>, key: impl Fn(&T) -> String) -> String {
        let size = usize::try_from(page.size).unwrap_or(usize::MAX);
        if rows.len() <= size {
            return String::new();
        }
        rows.truncate(size);
        rows.last().map(|last| self.seal(&page.list, key(last).as_bytes())).unwrap_or_default()
    }

    /// Seals what a caller is to bring back: bound to its list, in hex.
    pub fn seal(&self, list: &str, content: &[u8]) -> String {
        let keys = self.keys.read().unwrap_or_else(PoisonError::into_inner);
        let key = keys.first().map(Vec::as_slice).unwrap_or_default();
        hex(&[&digest(key, list, content)[..], content].concat())
    }

    /// What was sealed for this list, if this is it; nothing longer than `longest` letters is looked at.
    pub fn open(&self, list: &str, token: &str, longest: usize) -> Option<Vec<u8>> {
        let bytes = Some(token).filter(|token| token.len() <= longest).and_then(unhex)?;
        let (sealed, content) = bytes.split_at_checked(DIGEST)?;
        let keys = self.keys.read().unwrap_or_else(PoisonError::into_inner);
        keys.iter().any(|key| same(sealed, &digest(key, list, content))).then(|| content.to_vec())
    }
}

/// A key of page tokens for each signing key, that of the one that signs first.
fn derived(keys: &Keys) -> Vec<Vec<u8>> {
    let signing_first = keys.by_id.get(&keys.signing).into_iter();
    let others = keys.by_id.iter().filter(|(id, _)| **id != keys.signing).map(|(_, key)| key);
    let derive = |key: &Vec<u8>| Sha256::new().chain_update(b"page tokens").chain_update(key).finalize().to_vec();
    signing_first.chain(others).map(derive).collect()
}

/// Compared whole, without stopping at the first difference.
fn same(one: &[u8], other: &[u8; DIGEST]) -> bool {
    one.iter().zip(other).fold(0, |sum, (a, b)| sum | (a ^ b)) == 0
}

/// Entries on a page, by what was asked for.
///
/// # Errors
/// [`AppError::Invalid`] for a negative size.
pub fn size(asked: i32) -> AppResult<u64> {
    let size = u64::try_from(asked).map_err(|_| AppError::invalid("page_size", format!("{asked} is negative")))?;
    Ok(if size == 0 { USUAL } else { size.min(MOST) })
}

fn digest(key: &[u8], list: &str, content: &[u8]) -> [u8; DIGEST] {
    // Keyed twice, so that nothing can be appended to a known digest.
    let inner = Sha256::new()
        .chain_update(key)
        .chain_update(list.len().to_be_bytes())
        .chain_update(list)
        .chain_update(content)
        .finalize();
    let outer = Sha256::new().chain_update(key).chain_update(inner).finalize();
    std::array::from_fn(|at| outer[at])
}

impl Page {
    /// One entry more than the page, to see whether there is a next.
    pub fn limit(&self) -> u64 {
        self.size + 1
    }

    /// The key after which the page begins, as a whole number.
    ///
    /// # Errors
    /// [`AppError::Internal`]: tokens are ours, so this is a mistake of ours.
    pub fn after_number(&self) -> AppResult<Option<i64>> {
        self.after.as_deref().map(|after| after.parse().map_err(AppError::internal)).transpose()
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
    use super::*;

    fn keys(ids: &[(&str, u8)]) -> Keys {
        let by_id = ids.iter().map(|(id, byte)| ((*id).into(), vec![*byte; 32])).collect();
        Keys { signing: ids[0].0.into(), by_id }
    }

    #[test]
    fn a_token_leads_on_in_its_own_list_and_nowhere_else() {
        let tokens = PageTokens::new(&keys(&[("a", 1)]));
        let first = tokens.read("designs of x".into(), 2, "").unwrap();
        let mut rows = vec!["a", "b", "c"];
        let token = tokens.cut(&first, &mut rows, |row| (*row).to_owned());
        assert_eq!(rows, ["a", "b"]);
        let second = tokens.read("designs of x".into(), 2, &token).unwrap();
        assert_eq!(second.after.as_deref(), Some("b"));
        assert!(tokens.read("designs of y".into(), 2, &token).is_err(), "another list");
        assert!(PageTokens::new(&keys(&[("b", 2)])).read("designs of x".into(), 2, &token).is_err(), "another server");
        let mut altered = token.clone();
        altered.replace_range(token.len() - 2.., "63");
        assert!(tokens.read("designs of x".into(), 2, &altered).is_err(), "altered");
        for made_up in ["0", "zz", "00", &"ab".repeat(5000), &hex(b"b")] {
            assert!(tokens.read("designs of x".into(), 2, made_up).is_err(), "made up");
        }
    }

    #[test]
    fn a_token_lives_as_long_as_its_key() {
        let tokens = PageTokens::new(&keys(&[("b", 1)]));
        let page = tokens.read("list".into(), 1, "").unwrap();
        let token = tokens.cut(&page, &mut vec!["a", "b"], |row| (*row).to_owned());
        tokens.replace(&keys(&[("a", 2), ("b", 1)]));
        assert!(tokens.read("list".into(), 1, &token).is_ok(), "the key is still there");
        assert_ne!(tokens.cut(&page, &mut vec!["a", "b"], |row| (*row).to_owned()), token, "another key seals");
        tokens.replace(&keys(&[("a", 2)]));
        assert!(tokens.read("list".into(), 1, &token).is_err(), "the key is retired");
    }

    #[test]
    fn the_last_page_has_no_token_and_sizes_are_bounded() {
        let tokens = PageTokens::new(&keys(&[("a", 1)]));
        let page = tokens.read("list".into(), 3, "").unwrap();
        assert_eq!(tokens.cut(&page, &mut vec![1, 2, 3], ToString::to_string), "");
        assert_eq!(tokens.read("list".into(), 0, "").unwrap().size, 50);
        assert_eq!(tokens.read("list".into(), 9999, "").unwrap().size, 200);
        assert!(tokens.read("list".into(), -1, "").is_err());
    }
}
