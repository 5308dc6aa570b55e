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

/// Wrong join words and keys by address. Only misses count, so that a whole class behind one
/// address is never slowed by joining.
#[derive(Debug, Default)]
pub(crate) struct Misses {
    by_address: Mutex<BTreeMap<IpAddr, (u32, Millis)>>,
}

/// Misses an address may have at once.
const MISSES: u32 = 10;
/// Time in which one miss is forgiven, in milliseconds.
const FORGIVEN_MS: u64 = 3_000;
/// Addresses remembered; beyond it those with the oldest miss are forgotten.
const ADDRESSES: usize = 10_000;

impl Misses {
    /// Whether an address has to wait before it may guess again.
    pub(crate) fn must_wait(&self, address: IpAddr, now: Millis) -> bool {
        let misses = self.by_address.lock().unwrap_or_else(PoisonError::into_inner);
        misses.get(&address).is_some_and(|(count, at)| left(*count, *at, now) >= MISSES)
    }

    /// Counts a wrong word or key.
    pub(crate) fn count(&self, address: IpAddr, now: Millis) {
        let mut misses = self.by_address.lock().unwrap_or_else(PoisonError::into_inner);
        if misses.len() >= ADDRESSES && !misses.contains_key(&address) {
            misses.retain(|_, (count, at)| left(*count, *at, now) > 0);
            if misses.len() >= ADDRESSES {
                misses.pop_first();
            }
        }
        let entry = misses.entry(address).or_insert((0, now));
        *entry = (left(entry.0, entry.1, now).saturating_add(1), now);
    }
}

fn left(count: u32, at: Millis, now: Millis) -> u32 {
    let forgiven = u32::try_from(now.minus(at).0 / FORGIVEN_MS).unwrap_or(u32::MAX);
    count.saturating_sub(forgiven)
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
        let misses = Misses::default();
        let address = IpAddr::from([192, 0, 2, 7]);
        for _ in 0..10 {
            assert!(!misses.must_wait(address, Millis(0)));
            misses.count(address, Millis(0));
        }
        assert!(misses.must_wait(address, Millis(2_999)));
        assert!(!misses.must_wait(address, Millis(3_000)));
        assert!(!misses.must_wait(IpAddr::from([192, 0, 2, 8]), Millis(0)));
    }
}
