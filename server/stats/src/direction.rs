//! Whether a is given for b more often than b for a, or by chance alone.

use std::ops::Range;

use statrs::function::factorial::ln_binomial;

use crate::{ChiSquare, Tally};

/// How surprising a count is if each trial hits with a given probability. Two-sided.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surprise {
    /// The share of hits that was expected.
    pub expected: f64,
    /// Exact: the probability of all counts that are no likelier than the one seen.
    pub exact: f64,
    /// The mid-p: the same, but counts as likely as the one seen weigh half. The better choice for
    /// small counts, as the exact one is too careful.
    pub mid: f64,
    /// Pearson's test, for [`ENOUGH`] trials or more; below that it is too rough.
    pub chi_square: Option<ChiSquare>,
    /// The same with continuity correction: near the exact test, and as careful.
    pub corrected: Option<ChiSquare>,
}

/// From so many trials on, chi-square serves.
pub const ENOUGH: u32 = 25;

/// Tests hits of trials against the share that was expected; `None` of no trials, or unless
/// 0 < `expected` < 1.
///
/// The two-sided exact test takes all counts whose probability is at most that of the count seen
/// (the rule of small probabilities); mid-p as in Fagerland MW, Lydersen S, Laake P 2013, BMC
/// Medical Research Methodology 13:91. The correction takes half a hit off the gap between hits and
/// expected hits, as far as that goes: Edwards AL 1948, Psychometrika 13:185-187.
pub fn against(seen: Tally, expected: f64) -> Option<Surprise> {
    if seen.of() == 0 || !(expected > 0.0 && expected < 1.0) {
        return None;
    }
    let (exact, mid) = two_sided(seen, expected);
    let trials = f64::from(seen.of());
    let gap = f64::from(seen.hits()) - trials * expected;
    let chi_square = |gap: f64| {
        let statistic = gap * gap / (trials * expected * (1.0 - expected));
        if seen.of() < ENOUGH { None } else { ChiSquare::new(statistic, 1) }
    };
    Some(Surprise {
        expected,
        exact,
        mid,
        chi_square: chi_square(gap),
        corrected: chi_square((gap.abs() - 0.5).max(0.0)),
    })
}

/// McNemar's test: `b` against `c` where both had the same chance; `None` if both are 0.
///
/// Given b + c, b is binomial with probability ½; the statistic is (b - c)² / (b + c), corrected
/// (|b - c| - 1)² / (b + c). McNemar Q 1947, Psychometrika 12:153-157. On confusions it is right
/// only if both were asked equally often: else [`unequal_exposure`] is.
pub fn mcnemar(b: u32, c: u32) -> Option<Surprise> {
    against(Tally::new(b, b.checked_add(c)?)?, 0.5)
}

/// Whether the two rates differ, where `ab` of so many were hits one way, and `ba` of so many the
/// other: given `n_ab + n_ba`, `n_ab` is binomial with probability `N_a / (N_a + N_b)` if the rates are
/// the same. `None` if nothing hit, or one of the two was never tried.
///
/// Przyborowski J, Wilenski H 1940, Biometrika 31:313-323.
pub fn unequal_exposure(ab: Tally, ba: Tally) -> Option<Surprise> {
    let both = ab.together(ba)?;
    against(Tally::new(ab.hits(), both.hits())?, f64::from(ab.of()) / f64::from(both.of()))
}

/// Counts that are likelier than the one seen by no more than this are as likely: rounding.
const AS_LIKELY: f64 = 1.0 + 1e-7;

/// The exact probability and the mid-p.
///
/// Probabilities rise up to the likeliest count and fall from there, so the counts that are no
/// likelier than the one seen are two tails; of these only what a number can hold is gone through.
fn two_sided(seen: Tally, expected: f64) -> (f64, f64) {
    let trials = seen.of();
    let (ln_hit, ln_miss) = (expected.ln(), (-expected).ln_1p());
    let probability = |hits: u32| {
        let ways = ln_binomial(u64::from(trials), u64::from(hits));
        (ways + f64::from(hits) * ln_hit + f64::from(trials - hits) * ln_miss).exp()
    };
    let here = probability(seen.hits());
    let likeliest = likeliest(trials, expected);
    let is_rare = |hits: u32| probability(hits) <= here * AS_LIKELY;
    let is_some = |hits: u32| probability(hits) > 0.0;
    let low_end = first(0..likeliest, |hits| !is_rare(hits));
    let low = first(0..low_end, is_some)..low_end;
    // Of four thousand million trials the last count is left out: no number holds its probability.
    let end = trials.saturating_add(1);
    let high_start = first(likeliest..end, is_rare);
    let high = high_start..first(high_start..end, |hits| !is_some(hits));
    let (mut exact, mut as_likely) = (0.0, 0.0);
    for other in low.chain(high).map(probability) {
        exact += other;
        if other >= here / AS_LIKELY {
            as_likely += other;
        }
    }
    (exact.min(1.0), (exact - 0.5 * as_likely).clamp(0.0, 1.0))
}

/// The whole number at or below (n + 1) p, the mode of the binomial distribution (Johnson NL, Kemp
/// AW, Kotz S 2005, Univariate Discrete Distributions, 3.3).
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 0 to trials")]
fn likeliest(trials: u32, expected: f64) -> u32 {
    (((f64::from(trials) + 1.0) * expected) as u32).min(trials)
}

/// The first number of a range that passes a test which all after it pass too; the end of the range
/// if none does.
fn first(range: Range<u32>, passes: impl Fn(u32) -> bool) -> u32 {
    let Range { mut start, mut end } = range;
    while start < end {
        let middle = start.midpoint(end);
        if passes(middle) {
            end = middle;
        } else {
            start = middle + 1;
        }
    }
    start
}
