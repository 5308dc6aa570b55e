//! How long to wait before trying a lost connection again: full jitter, so that a class that lost
//! its network together does not come back in step.

use std::time::Duration;

/// The wait before retry number `retry` (counted from 1), for a `jitter` drawn evenly from all of
/// `u32`: random(0, 1 s) first, then random(0, min(10 s, 0.25 s * 2^retry)).
pub(crate) fn wait(retry: u32, jitter: u32) -> Duration {
    let ceiling = ceiling_ms(retry);
    Duration::from_millis(ceiling * u64::from(jitter) / u64::from(u32::MAX))
}

fn ceiling_ms(retry: u32) -> u64 {
    if retry <= 1 { FIRST_MS } else { (STEP_MS << retry.min(MOST_DOUBLINGS)).min(LONGEST_MS) }
}

const FIRST_MS: u64 = 1_000;
const STEP_MS: u64 = 250;
const LONGEST_MS: u64 = 10_000;
/// 0.25 s doubled six times is above the longest wait already; more could only overflow.
const MOST_DOUBLINGS: u32 = 6;

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn the_longest_waits_are_those_of_the_rule() {
        let check = |retry: u32, want_ms: u64| {
            assert_eq!(wait(retry, u32::MAX), Duration::from_millis(want_ms), "retry {retry}");
        };
        check(1, 1_000);
        check(2, 1_000);
        check(3, 2_000);
        check(4, 4_000);
        check(5, 8_000);
        check(6, 10_000);
        check(u32::MAX, 10_000);
    }

    proptest! {
        #[test]
        fn a_wait_lies_between_nothing_and_the_ceiling(retry: u32, jitter: u32) {
            prop_assert_eq!(wait(retry, 0), Duration::ZERO);
            prop_assert!(wait(retry, jitter) <= wait(retry, u32::MAX));
            prop_assert!(wait(retry, jitter) <= Duration::from_secs(10));
        }

        #[test]
        fn more_jitter_never_waits_less(retry: u32, a: u32, b: u32) {
            prop_assert!(wait(retry, a.min(b)) <= wait(retry, a.max(b)));
        }
    }
}
