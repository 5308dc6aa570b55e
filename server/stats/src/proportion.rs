//! How far a share can be trusted.

use statrs::distribution::{ContinuousCDF as _, Normal};

use crate::{Beta, Interval, Level, Tally};

/// The Wilson score interval, no continuity correction; `None` of no trials.
pub fn wilson(tally: Tally, level: Level) -> Option<Interval> {
    wilson_within(tally, deviations(level))
}

/// The same for `z` standard deviations to either side: 1.959964 for 95 %. `None` also unless `z` is
/// a finite number from 0.
///
/// With p = x/n, q = 1 - p: (p + z²/2n ± z √(pq/n + z²/4n²)) / (1 + z²/n).
/// Wilson EB 1927, J. Am. Stat. Assoc. 22:209-212; compared with its rivals in Newcombe RG 1998,
/// Statistics in Medicine 17:857-872 (method 3).
pub fn wilson_within(tally: Tally, z: f64) -> Option<Interval> {
    shifted(tally, z, 0.0)
}

/// The Wilson interval with continuity correction: wider, and seldom or never misses more often
/// than it says, where [`wilson`] does so on average. `None` of no trials.
///
/// Its ends are those of Wilson for half a hit less and for half a hit more: the rates from which
/// the share seen, but for 1/2n, lies z standard deviations away. Newcombe RG 1998, Statistics in
/// Medicine 17:857-872 (method 4).
pub fn wilson_corrected(tally: Tally, level: Level) -> Option<Interval> {
    shifted(tally, deviations(level), 0.5)
}

/// So many standard deviations of a normal distribution hold `level` in their middle.
fn deviations(level: Level) -> f64 {
    Normal::standard().inverse_cdf(f64::midpoint(1.0, level.get()))
}

/// Wilson's interval with `correction` hits less for the lower end and more for the upper.
fn shifted(tally: Tally, z: f64, correction: f64) -> Option<Interval> {
    let rate = tally.rate().filter(|_| z.is_finite() && z >= 0.0)?;
    let trials = f64::from(tally.of());
    let z2 = z * z;
    let end = |hits: f64, side: f64| {
        let rate = hits / trials;
        let half = z * (rate * (1.0 - rate) / trials + z2 / (4.0 * trials * trials)).sqrt();
        (rate + z2 / (2.0 * trials) + side * half) / (1.0 + z2 / trials)
    };
    let hits = f64::from(tally.hits());
    // Rounding may leave an end a hair outside the share that it must hold.
    let low = || end(hits - correction, -1.0).clamp(0.0, rate);
    let high = || end(hits + correction, 1.0).clamp(rate, 1.0);
    Some(Interval {
        low: if tally.hits() == 0 { 0.0 } else { low() },
        high: if tally.misses() == 0 { 1.0 } else { high() },
    })
}

/// The Jeffreys interval: the middle of Beta(x + ½, n - x + ½), but from 0 where nothing hit and up
/// to 1 where nothing missed. `None` of no trials, or past what [`Beta`] can hold.
///
/// Brown LD, Cai TT, DasGupta A 2001, Statistical Science 16:101-133.
pub fn jeffreys(tally: Tally, level: Level) -> Option<Interval> {
    tally.rate()?;
    let Interval { low, high } = Beta::JEFFREYS.after(tally)?.interval(level);
    let low = if tally.hits() == 0 { 0.0 } else { low };
    let high = if tally.misses() == 0 { 1.0 } else { high };
    Some(Interval { low, high })
}

/// The rate that is passed with probability `level`, by what `prior` and the trials say: the
/// (1 - level) quantile of Beta(α + x, β + n - x). Ranked by it, one of one does not come before
/// thirty of a hundred. `None` past what [`Beta`] can hold.
pub fn lower_bound(prior: Beta, tally: Tally, level: Level) -> Option<f64> {
    let rest = Level::new(1.0 - level.get())?;
    Some(prior.after(tally)?.quantile(rest))
}
