//! What is known of a rate: the Beta distribution.

use statrs::function::beta::{beta_reg, ln_beta};

use crate::{Interval, Level, Tally};

/// A Beta distribution over a rate between 0 and 1: as if `alpha` hits and `beta` misses had been
/// seen.
///
/// Density x^(α-1) (1-x)^(β-1) / B(α, β). Its cumulative distribution function is the regularised
/// incomplete beta function; accurate to about 1e-10 for shapes up to [`Beta::LARGEST`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beta {
    alpha: f64,
    beta: f64,
}

impl Beta {
    /// Knows nothing: every rate is as likely as any other.
    pub const UNIFORM: Self = Self { alpha: 1.0, beta: 1.0 };
    /// Jeffreys' prior for a rate: half a hit and half a miss.
    pub const JEFFREYS: Self = Self { alpha: 0.5, beta: 0.5 };
    /// The smallest shape that there is. Below it a draw is 0 or 1 to the last digit.
    pub const SMALLEST: f64 = 1e-3;
    /// The largest shape that there is. Above it the continued fraction behind the distribution
    /// function has not settled when the library stops.
    pub const LARGEST: f64 = 20_000.0;

    /// `None` unless both shapes lie from [`Beta::SMALLEST`] to [`Beta::LARGEST`].
    pub fn new(alpha: f64, beta: f64) -> Option<Self> {
        let shapes = Self::SMALLEST..=Self::LARGEST;
        (shapes.contains(&alpha) && shapes.contains(&beta)).then_some(Self { alpha, beta })
    }

    /// The one with this mean that weighs as much as `weight` trials: α = mean · weight. `None`
    /// where [`Beta::new`] is.
    pub fn with_mean(mean: f64, weight: f64) -> Option<Self> {
        Self::new(mean * weight, (1.0 - mean) * weight)
    }

    /// α, the hits.
    pub const fn alpha(self) -> f64 {
        self.alpha
    }

    /// β, the misses.
    pub const fn beta(self) -> f64 {
        self.beta
    }

    /// α + β: how many trials it is worth.
    pub const fn weight(self) -> f64 {
        self.alpha + self.beta
    }

    /// What is known once these trials are seen too: Beta(α + hits, β + misses).
    pub fn after(self, seen: Tally) -> Option<Self> {
        self.after_part(f64::from(seen.hits()), f64::from(seen.misses()))
    }

    /// The same for trials that count in part. `None` if a number is negative or not a number.
    pub fn after_part(self, hits: f64, misses: f64) -> Option<Self> {
        let counts = hits >= 0.0 && misses >= 0.0;
        counts.then(|| Self::new(self.alpha + hits, self.beta + misses))?
    }

    /// α / (α + β).
    pub const fn mean(self) -> f64 {
        self.alpha / self.weight()
    }

    /// Standard deviation: √(m (1-m) / (α + β + 1)) with m the mean.
    pub fn sd(self) -> f64 {
        let mean = self.mean();
        (mean * (1.0 - mean) / (self.weight() + 1.0)).sqrt()
    }

    /// The probability that the rate is at most `rate`.
    pub fn cdf(self, rate: f64) -> f64 {
        if rate <= 0.0 {
            0.0
        } else if rate < 1.0 {
            self.below(Logit::of(rate))
        } else {
            1.0
        }
    }

    /// The rate that is not passed with this probability.
    pub fn quantile(self, level: Level) -> f64 {
        self.logit_quantile(level.get()).rate()
    }

    /// The interval in the middle, with as much left out below as above.
    pub fn interval(self, level: Level) -> Interval {
        let tail = level.tail();
        let low = self.logit_quantile(tail).rate();
        Interval { low, high: 1.0 - self.mirrored().logit_quantile(tail).rate() }
    }

    /// The distribution of 1 less the rate.
    pub(crate) const fn mirrored(self) -> Self {
        Self { alpha: self.beta, beta: self.alpha }
    }

    /// The probability of a smaller rate. Whichever of the rate and 1 less it is small is handed
    /// on, as the other has lost its digits.
    pub(crate) fn below(self, logit: Logit) -> f64 {
        if logit.0 > 0.0 {
            1.0 - beta_reg(self.beta, self.alpha, logit.mirrored().rate())
        } else {
            beta_reg(self.alpha, self.beta, logit.rate())
        }
    }

    /// Density of the logit of the rate: x^α (1-x)^β / B(α, β).
    pub(crate) fn logit_density(self, logit: Logit) -> f64 {
        let exponent = self.alpha * logit.ln_rate() + self.beta * logit.mirrored().ln_rate();
        (exponent - ln_beta(self.alpha, self.beta)).exp()
    }

    /// The logit that is not passed with probability `p`, by Newton's method inside a bracket. The
    /// library's own inverse starts no lower than 0.0001 and is lost for small shapes.
    pub(crate) fn logit_quantile(self, p: f64) -> Logit {
        if p > 0.5 {
            // A probability near 1 has lost its digits; what is left of it has not.
            return self.mirrored().logit_quantile(1.0 - p).mirrored();
        }
        let (mut low, mut high) = (-Logit::WIDEST, Logit::WIDEST);
        let mut at = (self.alpha / self.beta).ln();
        for _ in 0..MOST_STEPS {
            let miss = self.below(Logit(at)) - p;
            if miss > 0.0 {
                high = at;
            } else {
                low = at;
            }
            let newton = at - miss / self.logit_density(Logit(at));
            let next = if newton > low && newton < high { newton } else { low.midpoint(high) };
            let done = (next - at).abs() <= CLOSE * (1.0 + at.abs());
            at = next;
            if done {
                break;
            }
        }
        Logit(at)
    }
}

/// Newton's method needs about 6 steps, halving alone 60.
const MOST_STEPS: u32 = 200;
/// When a logit has settled, relative to its size.
const CLOSE: f64 = 1e-14;

/// ln(x / (1-x)) of a rate x: keeps rates apart that lie close to 0 or to 1.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Logit(pub(crate) f64);

impl Logit {
    /// Rates beyond are 0 or 1 to the last digit.
    const WIDEST: f64 = 745.0;

    fn of(rate: f64) -> Self {
        Self(rate.ln() - (-rate).ln_1p())
    }

    pub(crate) fn rate(self) -> f64 {
        1.0 / (1.0 + (-self.0).exp())
    }

    /// The logit of 1 less the rate.
    fn mirrored(self) -> Self {
        Self(-self.0)
    }

    fn ln_rate(self) -> f64 {
        // Large negative logits would overflow inside the exponential.
        if self.0 < -30.0 { self.0 } else { -(-self.0).exp().ln_1p() }
    }
}
