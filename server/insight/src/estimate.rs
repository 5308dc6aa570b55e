//! Numbers with how far they can be trusted.

use myonym_stats::{Tally, proportion};
use serde::{Deserialize, Serialize};

/// A share with its 95 % interval and the number of observations that it rests on. They travel
/// together, so that no renderer can show the one without the others.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Estimate {
    /// The share observed, from 0 to 1.
    pub value: f64,
    /// Lower end of the interval, from 0 to `value`.
    pub low: f64,
    /// Upper end of the interval, from `value` to 1.
    pub high: f64,
    /// Number of observations; at least 1.
    pub count: u32,
}

/// The share `x` of `n` with its Wilson score interval, 95 %, no continuity correction; `None` if
/// `n` is 0 or `x` is above it.
pub fn wilson(x: u32, n: u32) -> Option<Estimate> {
    let tally = Tally::new(x, n)?;
    let interval = proportion::wilson_within(tally, Z_95)?;
    Some(Estimate { value: tally.rate()?, low: interval.low, high: interval.high, count: n })
}

/// The median; of an even number the mean of the middle two, rounded down. `None` of nothing.
pub(crate) fn median(values: &[u64]) -> Option<u64> {
    let (size, mut values) = (values.len(), values.to_vec());
    if values.is_empty() {
        return None;
    }
    // The middle alone has to be in its place.
    let (below, upper, _) = values.select_nth_unstable(size / 2);
    let lower = below.iter().max().filter(|_| size.is_multiple_of(2));
    Some(lower.unwrap_or(upper).midpoint(*upper))
}

/// The 97.5 % point of the standard normal distribution, to the last digit: reports keep theirs.
const Z_95: f64 = 1.959_963_984_540_054;

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[derive(Deserialize)]
    struct Reference {
        checks: Vec<Check>,
        tolerance: Tolerance,
    }

    #[derive(Deserialize)]
    struct Tolerance {
        published: f64,
        full: f64,
        value: f64,
    }

    #[derive(Deserialize)]
    struct Check {
        id: String,
        x: u32,
        n: u32,
        published: Option<[f64; 2]>,
        full: [f64; 2],
        value: f64,
    }

    /// Newcombe 1998, Table I, method 3, and values computed with statsmodels; the file names the
    /// source of each.
    #[test]
    fn intervals_agree_with_published_and_computed_ones() {
        let text = include_str!("../../../tests/reference/psychometrics/proportions.json");
        let reference: Reference = serde_json::from_str(text).unwrap();
        let Tolerance { published, full, value } = reference.tolerance;
        assert_eq!(reference.checks.len(), 5);
        for check in reference.checks {
            let found = wilson(check.x, check.n).unwrap();
            let near = |a: f64, b: f64, tolerance: f64| {
                assert!((a - b).abs() <= tolerance, "{}: {a} is not {b}", check.id);
            };
            near(found.value, check.value, value);
            near(found.low, check.full[0], full);
            near(found.high, check.full[1], full);
            if let Some(printed) = check.published {
                near(found.low, printed[0], published);
                near(found.high, printed[1], published);
            }
            assert_eq!(found.count, check.n);
        }
    }

    #[test]
    fn nothing_observed_is_no_share() {
        assert_eq!(wilson(0, 0), None);
        assert_eq!(wilson(3, 2), None);
    }

    #[test]
    fn medians() {
        let check = |values: &[u64], want| assert_eq!(median(values), want, "{values:?}");
        check(&[], None);
        check(&[7], Some(7));
        check(&[9, 1, 4], Some(4));
        check(&[4, 1, 9, 6], Some(5));
        check(&[u64::MAX, u64::MAX], Some(u64::MAX));
    }

    proptest! {
        #[test]
        fn an_interval_lies_from_0_to_1_and_holds_the_share(n in 1u32.., part in 0.0..=1.0f64) {
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss,
                reason = "a part of n lies from 0 to n")]
            let x = (f64::from(n) * part) as u32;
            let found = wilson(x, n).unwrap();
            prop_assert!(0.0 <= found.low && found.low <= found.value);
            prop_assert!(found.value <= found.high && found.high <= 1.0);
        }

        /// Failures and successes change places: what one has above, the other has below.
        #[test]
        fn an_interval_mirrors(n in 1u32..5_000, x in 0u32..5_000) {
            let x = x.min(n);
            let (there, back) = (wilson(x, n).unwrap(), wilson(n - x, n).unwrap());
            prop_assert!((there.low - (1.0 - back.high)).abs() < 1e-12);
        }

        #[test]
        fn more_observations_of_the_same_share_say_more(n in 1u32..500, x in 0u32..500) {
            let x = x.min(n);
            let width = |e: Estimate| e.high - e.low;
            prop_assert!(width(wilson(10 * x, 10 * n).unwrap()) < width(wilson(x, n).unwrap()));
        }
    }
}
