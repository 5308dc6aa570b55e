//! The derivative of the digamma function.

/// ψ'(x) for x > 0: moved up to 20 by ψ'(x) = ψ'(x+1) + 1/x², then the asymptotic series
/// `1/x + 1/2x² + Σ B_2k / x^(2k+1)`. Abramowitz M, Stegun IA 1964, 6.4.6 and 6.4.12. Relative error
/// below 1e-14.
pub(crate) fn trigamma(x: f64) -> f64 {
    let (mut at, mut sum) = (x, 0.0);
    while at < FAR {
        sum += 1.0 / (at * at);
        at += 1.0;
    }
    let square = 1.0 / (at * at);
    let series = BERNOULLI.iter().rev().fold(0.0, |series, number| number + square * series);
    sum + 1.0 / at + square / 2.0 + square / at * series
}

const FAR: f64 = 20.0;
/// Bernoulli numbers of even order, from the second.
const BERNOULLI: [f64; 6] =
    [1.0 / 6.0, -1.0 / 30.0, 1.0 / 42.0, -1.0 / 30.0, 5.0 / 66.0, -691.0 / 2730.0];

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;

    /// ψ'(1) = π²/6, ψ'(½) = π²/2 (Abramowitz & Stegun 6.4.2, 6.4.4), ψ'(n) by the recurrence;
    /// ψ'(1000) computed with scipy 1.17.1, polygamma(1, 1000).
    #[test]
    fn known_values() {
        let near = |found: f64, want: f64| {
            assert!((found / want - 1.0).abs() < 1e-14, "{found} is not {want}");
        };
        near(trigamma(1.0), PI * PI / 6.0);
        near(trigamma(0.5), PI * PI / 2.0);
        near(trigamma(3.0), PI * PI / 6.0 - 1.25);
        near(trigamma(1000.0), 0.001_000_500_166_666_633_4);
    }
}
