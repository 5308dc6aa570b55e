//! Limits kept by the server: messages a second, wrong words and keys, connections.

use std::collections::{BTreeMap, BTreeSet};
use std::net::{IpAddr, Ipv6Addr};
use std::sync::{Mutex, PoisonError};

use myonym_wire::{JoinWord, Millis};

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
/// Pairs of address and join word remembered.
const PAIRS: usize = 40_000;

impl Tries {
    /// Wrong join words and keys: 10 at once, one more each 20 s.
    pub(crate) fn misses() -> Self {
        Self::new(10, 20_000)
    }

    /// All wrong words and keys, those of an address that waits among them: 300 at once, five more
    /// each second. Beyond it not even a word that is known there is looked at.
    pub(crate) fn knocks() -> Self {
        Self::new(300, 200)
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
        let address = household(address);
        let tries = self.by_address.lock().unwrap_or_else(PoisonError::into_inner);
        tries.get(&address).is_some_and(|(count, at)| self.left(*count, *at, now) >= self.most)
    }

    /// Counts a try.
    pub(crate) fn count(&self, address: IpAddr, now: Millis) {
        let address = household(address);
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

/// Join words by which an address came in. To look one up tells whoever is at that address no more
/// than they could hear across the room.
#[derive(Debug, Default)]
pub(crate) struct Known(Mutex<BTreeSet<(IpAddr, JoinWord)>>);

impl Known {
    /// Remembers that somebody came in so.
    pub(crate) fn add(&self, address: IpAddr, word: &JoinWord) {
        let mut known = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if known.insert((household(address), word.clone())) && known.len() > PAIRS {
            known.pop_first();
        }
    }

    /// Whether somebody did.
    pub(crate) fn holds(&self, address: IpAddr, word: &JoinWord) -> bool {
        let known = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        known.contains(&(household(address), word.clone()))
    }
}

/// Whom an address stands for. Anyone with IPv6 has the 2^64 addresses of a network (RFC 4291
/// section 2.5.4), so these count as one.
fn household(address: IpAddr) -> IpAddr {
    match address.to_canonical() {
        IpAddr::V4(address) => IpAddr::V4(address),
        IpAddr::V6(address) => {
            IpAddr::V6(Ipv6Addr::from_bits(address.to_bits() & (u128::MAX << 64)))
        }
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
        assert!(misses.must_wait(address, Millis(19_999)));
        assert!(!misses.must_wait(address, Millis(20_000)));
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

    #[test]
    fn a_household_has_one_count_whatever_address_it_takes() {
        let misses = Tries::misses();
        let address = |text: &str| text.parse::<IpAddr>().unwrap();
        for number in 0..10 {
            misses.count(address(&format!("2001:db8:0:7::{number}")), Millis(0));
        }
        assert!(misses.must_wait(address("2001:db8:0:7:ffff::1"), Millis(0)));
        assert!(!misses.must_wait(address("2001:db8:0:8::1"), Millis(0)));
        (0..10).for_each(|_| misses.count(address("192.0.2.7"), Millis(0)));
        assert!(misses.must_wait(address("::ffff:192.0.2.7"), Millis(0)));
        assert!(!misses.must_wait(address("192.0.2.8"), Millis(0)));
    }

    #[test]
    fn a_word_is_known_where_somebody_came_in_by_it() {
        let (known, word) = (Known::default(), "radius-talus".parse::<JoinWord>().unwrap());
        known.add(IpAddr::from([192, 0, 2, 7]), &word);
        assert!(known.holds(IpAddr::from([192, 0, 2, 7]), &word));
        assert!(!known.holds(IpAddr::from([192, 0, 2, 8]), &word));
        assert!(!known.holds(IpAddr::from([192, 0, 2, 7]), &"talus-radius".parse().unwrap()));
    }
}
