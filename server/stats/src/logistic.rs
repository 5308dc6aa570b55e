//! The logistic function, safe far from 0.

/// 1 / (1 + exp(-x)).
pub(crate) fn logistic(x: f64) -> f64 {
    1.0 / (1.0 + (-x).exp())
}

/// Its logarithm.
pub(crate) fn ln_logistic(x: f64) -> f64 {
    x.min(0.0) - (-x.abs()).exp().ln_1p()
}
