//! A queue that serves accounts in turn: a thousand jobs of one leave another's next in line.

use std::collections::{BTreeMap, VecDeque};
use uuid::Uuid;

/// Jobs waiting, by account.
#[derive(Debug)]
pub struct Round<T> {
    waiting: BTreeMap<Uuid, VecDeque<T>>,
    turn: VecDeque<Uuid>,
    length: usize,
}

impl<T> Default for Round<T> {
    fn default() -> Self {
        Self { waiting: BTreeMap::new(), turn: VecDeque::new(), length: 0 }
    }
}

impl<T> Round<T> {
    /// Jobs waiting in all.
    pub fn len(&self) -> usize {
        self.length
    }

    /// Jobs of one account.
    pub fn len_of(&self, account: Uuid) -> usize {
        self.waiting.get(&account).map_or(0, VecDeque::len)
    }

    /// Puts a job at the end of its account's row.
    pub fn push(&mut self, account: Uuid, job: T) {
        let row = self.waiting.entry(account).or_default();
        if row.is_empty() {
            self.turn.push_back(account);
        }
        row.push_back(job);
        self.length += 1;
    }

    /// Takes the next job that fits: the first of the account whose turn it is, or of the next one if that does not.
    pub fn pop(&mut self, fits: impl Fn(&T) -> bool) -> Option<T> {
        for at in 0..self.turn.len() {
            let account = *self.turn.get(at)?;
            if !self.waiting.get(&account).and_then(VecDeque::front).is_some_and(&fits) {
                continue;
            }
            self.turn.remove(at);
            let row = self.waiting.get_mut(&account)?;
            let job = row.pop_front();
            if row.is_empty() {
                self.waiting.remove(&account);
            } else {
                self.turn.push_back(account);
            }
            self.length -= 1;
            return job;
        }
        None
    }

    /// Throws out jobs that nobody waits for any more.
    pub fn retain(&mut self, wanted: impl Fn(&T) -> bool) {
        for row in self.waiting.values_mut() {
            row.retain(&wanted);
        }
        self.waiting.retain(|_, row| !row.is_empty());
        self.turn.retain(|account| self.waiting.contains_key(account));
        self.length = self.waiting.values().map(VecDeque::len).sum();
    }
}

#[cfg(test)]
mod tests {
    use super::Round;
    use uuid::Uuid;

    const INES: Uuid = Uuid::from_u128(1);
    const OKORO: Uuid = Uuid::from_u128(2);

    #[test]
    fn accounts_are_served_in_turn() {
        let mut round = Round::default();
        for n in 0..1000 {
            round.push(INES, n);
        }
        round.push(OKORO, 5000);
        assert_eq!(round.pop(|_| true), Some(0));
        assert_eq!(round.pop(|_| true), Some(5000));
        assert_eq!(round.pop(|_| true), Some(1));
        assert_eq!(round.len(), 998);
        assert_eq!(round.len_of(OKORO), 0);
    }

    #[test]
    fn what_does_not_fit_waits_and_lets_others_by() {
        let mut round = Round::default();
        round.push(INES, 900);
        round.push(OKORO, 1);
        assert_eq!(round.pop(|size| *size < 100), Some(1));
        assert_eq!(round.pop(|size| *size < 100), None);
        assert_eq!(round.len(), 1);
        assert_eq!(round.pop(|_| true), Some(900));
        assert_eq!(round.pop(|_| true), None);
    }

    #[test]
    fn what_nobody_waits_for_is_thrown_out() {
        let mut round = Round::default();
        for n in 0..10 {
            round.push(if n % 2 == 0 { INES } else { OKORO }, n);
        }
        round.retain(|n| n % 2 == 1);
        assert_eq!(round.len(), 5);
        assert_eq!(round.len_of(INES), 0);
        assert_eq!(round.pop(|_| true), Some(1));
    }
}
