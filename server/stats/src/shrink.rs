//! Many small tallies steady each other: empirical Bayes with a Beta prior.
//!
//! Each tally has a rate of its own, and the rates come from one Beta distribution. That
//! is fitted to all tallies, and then serves each of them as its prior: [`Beta::after`] gives the
//! posterior, its mean (α + x) / (α + β + n), deviation and quantiles. Fit kinds of tallies that
//! differ (say likely and unlikely confusions) apart, and leave out what cannot happen. The
//! uncertainty of the fit itself is not in the posterior.

use statrs::function::beta::ln_beta;
use statrs::function::factorial::ln_binomial;
use statrs::function::gamma::digamma;

use crate::concave::{Surface, top};
use crate::linear::Symmetric;
use crate::responses::count;
use crate::trigamma::trigamma;
use crate::{Beta, Tally};

/// How a prior came about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// Greatest likelihood of the beta-binomial.
    Likelihood,
    /// Mean and variance of the rates, as no top of the likelihood was found.
    Moments,
    /// The rates differ no more than by chance: all tallies as one.
    Pooled,
}

/// A prior that tallies gave themselves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prior {
    /// The prior.
    pub beta: Beta,
    /// Where it is from.
    pub basis: Basis,
}

/// A prior is never worth more trials than this, nor than there were.
pub const HEAVIEST: f64 = 200.0;
/// Nor fewer than this.
const LIGHTEST: f64 = 0.1;

/// Fits the prior to the tallies with trials; `None` of fewer than two.
///
/// Everything is pooled if the variance of the rates is no more than that of binomial noise, or the
/// likelihood rises on towards that: mean (Σx + ½) / (Σn + 1), and the heaviest weight allowed.
pub fn fit(tallies: &[Tally]) -> Option<Prior> {
    let moments = moments(tallies)?;
    let pooled = Prior { beta: pool(tallies)?, basis: Basis::Pooled };
    if moments.variance <= noise(tallies, moments.mean) {
        return Some(pooled);
    }
    let heaviest = heaviest(tallies);
    let by_moments = Prior {
        beta: of_weight(moments.mean, moments.weight.clamp(LIGHTEST, heaviest))?,
        basis: Basis::Moments,
    };
    let start = vec![by_moments.beta.alpha().ln(), by_moments.beta.beta().ln()];
    let Some(top) = top(start, |logs| surface(tallies, logs[0].exp(), logs[1].exp())) else {
        let likelihood = |prior: Prior| log_likelihood(tallies, prior.beta);
        let more = likelihood(by_moments) > likelihood(pooled);
        return Some(if more { by_moments } else { pooled });
    };
    let (alpha, beta) = (top.at[0].exp(), top.at[1].exp());
    let weight = alpha + beta;
    if weight > heaviest {
        return Some(pooled);
    }
    let beta = of_weight(alpha / weight, weight.max(LIGHTEST))?;
    Some(Prior { beta, basis: Basis::Likelihood })
}

/// Mean and variance of rates, and the weight of the Beta distribution that has both.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moments {
    /// m, each tally counting the same.
    pub mean: f64,
    /// v, over one less than the number of tallies.
    pub variance: f64,
    /// M = m (1-m) / v - 1, so that α = m M and β = (1-m) M. Infinite or below 0 where no Beta
    /// distribution has these moments.
    pub weight: f64,
}

/// Of the tallies with trials; `None` of fewer than two. Misleading where trials differ much.
pub fn moments(tallies: &[Tally]) -> Option<Moments> {
    let rates: Vec<f64> = tallies.iter().filter_map(|tally| tally.rate()).collect();
    if rates.len() < 2 {
        return None;
    }
    let number = count(rates.len());
    let mean = rates.iter().sum::<f64>() / number;
    let squares: f64 = rates.iter().map(|rate| (rate - mean).powi(2)).sum();
    let variance = squares / (number - 1.0);
    let weight = if variance > 0.0 { mean * (1.0 - mean) / variance - 1.0 } else { f64::INFINITY };
    Some(Moments { mean, variance, weight })
}

/// Logarithm of the beta-binomial likelihood:
/// Σ ln C(n, x) + ln B(α + x, β + n - x) - ln B(α, β).
pub fn log_likelihood(tallies: &[Tally], prior: Beta) -> f64 {
    let ways = |tally: &Tally| ln_binomial(u64::from(tally.of()), u64::from(tally.hits()));
    tallies.iter().map(ways).sum::<f64>() + without_ways(tallies, prior.alpha(), prior.beta())
}

fn without_ways(tallies: &[Tally], alpha: f64, beta: f64) -> f64 {
    let before = ln_beta(alpha, beta);
    let of = |tally: &Tally| {
        ln_beta(alpha + f64::from(tally.hits()), beta + f64::from(tally.misses())) - before
    };
    tallies.iter().map(of).sum()
}

/// The likelihood over ln α and ln β.
fn surface(tallies: &[Tally], alpha: f64, beta: f64) -> Surface {
    // Derivatives of the logarithm by α and β: first ones, second ones, and the mixed one.
    let (mut da, mut db, mut daa, mut dbb, mut dab) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for tally in tallies {
        let (hits, misses) = (f64::from(tally.hits()), f64::from(tally.misses()));
        let all = alpha + beta + hits + misses;
        let whole = digamma(alpha + beta) - digamma(all);
        let whole_curve = trigamma(alpha + beta) - trigamma(all);
        da += digamma(alpha + hits) - digamma(alpha) + whole;
        db += digamma(beta + misses) - digamma(beta) + whole;
        daa += trigamma(alpha + hits) - trigamma(alpha) + whole_curve;
        dbb += trigamma(beta + misses) - trigamma(beta) + whole_curve;
        dab += whole_curve;
    }
    let mut curvature = Symmetric::zero(2);
    curvature.add(0, 0, -(alpha * alpha * daa + alpha * da));
    curvature.add(1, 1, -(beta * beta * dbb + beta * db));
    curvature.add(0, 1, -alpha * beta * dab);
    let height = without_ways(tallies, alpha, beta);
    Surface { height, slope: vec![alpha * da, beta * db], curvature }
}

/// The variance that rates would have if all came from one rate, by chance alone.
fn noise(tallies: &[Tally], mean: f64) -> f64 {
    let trials: Vec<f64> = tallies.iter().map(|tally| f64::from(tally.of())).collect();
    let used = trials.iter().filter(|of| **of > 0.0);
    let of_one = used.clone().map(|of| 1.0 / of).sum::<f64>() / count(used.count());
    // m (1-m) is too small by the variance of m itself.
    let of_mean = of_one / count(trials.iter().filter(|of| **of > 0.0).count());
    mean * (1.0 - mean) * of_one / (1.0 - of_mean) * (1.0 + ROUNDING)
}

/// So that tallies of one trial each, which say nothing of how rates differ, count as noise.
const ROUNDING: f64 = 1e-9;

fn pool(tallies: &[Tally]) -> Option<Beta> {
    let hits: f64 = tallies.iter().map(|tally| f64::from(tally.hits())).sum();
    of_weight((hits + 0.5) / (trials(tallies) + 1.0), heaviest(tallies))
}

fn heaviest(tallies: &[Tally]) -> f64 {
    trials(tallies).min(HEAVIEST)
}

fn trials(tallies: &[Tally]) -> f64 {
    tallies.iter().map(|tally| f64::from(tally.of())).sum()
}

/// The nearest Beta distribution of this mean and weight that there is.
fn of_weight(mean: f64, weight: f64) -> Option<Beta> {
    Beta::new((mean * weight).max(Beta::SMALLEST), ((1.0 - mean) * weight).max(Beta::SMALLEST))
}
