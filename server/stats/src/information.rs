//! What one more answer would teach.

use statrs::function::gamma::digamma;

use crate::Beta;

/// By how much one more trial is expected to narrow what is known of a rate: the expected drop of
/// the entropy of its distribution, in nats. Lindley DV 1956, Ann. Math. Stat. 27:986-1005.
///
/// It equals what the rate tells of the trial, H(m) - E H(θ) with H the entropy of yes and no; E
/// θ ln θ = m (ψ(α+1) - ψ(α+β+1)). In this form large terms need not cancel.
pub fn expected_gain(known: Beta) -> f64 {
    let whole = digamma(known.weight() + 1.0);
    let part = |mean: f64, shape: f64| mean * (digamma(shape + 1.0) - whole - mean.ln());
    let mean = known.mean();
    (part(mean, known.alpha()) + part(1.0 - mean, known.beta())).max(0.0)
}
