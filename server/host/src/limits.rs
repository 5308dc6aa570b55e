//! Limits kept by the server: messages a second, wrong words and keys, connections.

use std::collections::BTreeMap;
use std::net::IpAddr;
use std::sync::{Mutex, PoisonError};

use myonym_wire::Millis;

/// Messages of one connection: a full bucket, and how fast it fills.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Bucket {
    millitokens: u64,
    full: u64,
    per_second: u64,
    at: Millis,
}

impl Bucket {
    /// A student's connection: 20 at once, 2 a second.
    pub(crate) fn student(now: Millis) -> Self {
        Self::new(20, 2, now)
    }

    /// An instructor's connection: 40 at once, 10 a second.
    pub(crate) fn instructor(now: Millis) -> Self {
        Self::new(40, 10, now)
    }

    fn new(full: u64, per_second: u64, now: Millis) -> Self {
        let full = full * 1_000;
        Self { millitokens: full, full, per_second, at: now }
    }

    /// Takes one message; false if the bucket is empty.
    pub(crate) fn take(&mut self, now: Millis) -> bool {
        let gained = now.minus(self.at).0.saturating_mul(self.per_second);
        self.millitokens = self.millitokens.saturating_add(gained).min(self.full);
        self.at = self.at.max(now);
        let enough = self.millitokens >= 1_000;
        if enough {
            self.millitokens -= 1_000;
        }
        enough
    }
}

/// What an address has tried of late: so much at once, and one more each while. Only what is counted
/// counts, so that a whole class behind one address is never slowed by joining.
#[derive(Debug)]
pub(crate) struct Tries {
    most: u32,
    forgiven_ms: u64,
    by_address: Mutex<BTreeMap<IpAddr, (u32, Millis)>>,
}

/// Addresses remembered; beyond it those that tried nothing of late are forgotten.
const ADDRESSES: usize = 10_000;

impl Tries {
    /// Wrong join words and keys: 10 at once, one more each 3 s.
    pub(crate) fn misses() -> Self {
        Self::new(10, 3_000)
    }

    /// Study groups opened: 5 at once, one more each minute.
    pub(crate) fn gatherings() -> Self {
        Self::new(5, 60_000)
    }

    fn new(most: u32, forgiven_ms: u64) -> Self {
        Self { most, forgiven_ms, by_address: Mutex::default() }
    }

    /// Whether an address has to wait before it may try again.
    pub(crate) fn must_wait(&self, address: IpAddr, now: Millis) -> bool {
        let tries = self.by_address.lock().unwrap_or_else(PoisonError::into_inner);
        tries.get(&address).is_some_and(|(count, at)| self.left(*count, *at, now) >= self.most)
    }

    /// Counts a try.
    pub(crate) fn count(&self, address: IpAddr, now: Millis) {
        let mut tries = self.by_address.lock().unwrap_or_else(PoisonError::into_inner);
        if tries.len() >= ADDRESSES && !tries.contains_key(&address) {
            tries.retain(|_, (count, at)| self.left(*count, *at, now) > 0);
            if tries.len() >= ADDRESSES {
                tries.pop_first();
            }
        }
        let entry = tries.entry(address).or_insert((0, now));
        *entry = (self.left(entry.0, entry.1, now).saturating_add(1), now);
    }

    fn left(&self, count: u32, at: Millis, now: Millis) -> u32 {
        let forgiven = now.minus(at).0 / self.forgiven_ms;
        count.saturating_sub(u32::try_from(forgiven).unwrap_or(u32::MAX))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bucket_holds_twenty_and_fills_two_a_second() {
        let mut bucket = Bucket::student(Millis(0));
        assert_eq!((0..30).filter(|_| bucket.take(Millis(0))).count(), 20);
        assert_eq!((0..30).filter(|_| bucket.take(Millis(2_000))).count(), 4);
        assert_eq!((0..30).filter(|_| bucket.take(Millis(1_000))).count(), 0);
        assert_eq!((0..99).filter(|_| bucket.take(Millis(1_000_000))).count(), 20);
    }

    #[test]
    fn ten_misses_make_an_address_wait_and_time_forgives_them() {
        let misses = Tries::misses();
        let address = IpAddr::from([192, 0, 2, 7]);
        for _ in 0..10 {
            assert!(!misses.must_wait(address, Millis(0)));
            misses.count(address, Millis(0));
        }
        assert!(misses.must_wait(address, Millis(2_999)));
        assert!(!misses.must_wait(address, Millis(3_000)));
        assert!(!misses.must_wait(IpAddr::from([192, 0, 2, 8]), Millis(0)));
    }

    #[test]
    fn five_study_groups_at_once_and_one_more_a_minute() {
        let gatherings = Tries::gatherings();
        let address = IpAddr::from([192, 0, 2, 7]);
        let opened = |at| {
            let may = !gatherings.must_wait(address, Millis(at));
            if may {
                gatherings.count(address, Millis(at));
            }
            may
        };
        assert_eq!((0..9).filter(|_| opened(0)).count(), 5);
        assert!(!opened(59_999));
        assert!(opened(60_000));
        assert!(!opened(119_999));
        assert!(opened(120_000));
    }
}
