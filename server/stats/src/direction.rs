//! Whether a is given for b more often than b for a, or by chance alone.

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

/// The exact probability and the mid-p. Goes through all counts: the time grows with the trials.
fn two_sided(seen: Tally, expected: f64) -> (f64, f64) {
    let trials = seen.of();
    let (ln_hit, ln_miss) = (expected.ln(), (-expected).ln_1p());
    let probability = |hits: u32| {
        let ways = ln_binomial(u64::from(trials), u64::from(hits));
        (ways + f64::from(hits) * ln_hit + f64::from(trials - hits) * ln_miss).exp()
    };
    let here = probability(seen.hits());
    let (mut exact, mut as_likely) = (0.0, 0.0);
    for other in (0..=trials).map(probability).filter(|other| *other <= here * AS_LIKELY) {
        exact += other;
        if other >= here / AS_LIKELY {
            as_likely += other;
        }
    }
    (exact.min(1.0), (exact - 0.5 * as_likely).clamp(0.0, 1.0))
}
