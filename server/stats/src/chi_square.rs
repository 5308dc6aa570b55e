//! A statistic that follows the chi-square distribution when nothing is the matter.

use statrs::function::gamma::gamma_ur;

/// A chi-square test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChiSquare {
    /// The statistic, from 0.
    pub statistic: f64,
    /// Degrees of freedom, at least 1.
    pub freedom: u32,
    /// Probability of at least this statistic by chance alone.
    pub p: f64,
}

impl ChiSquare {
    /// `None` without a degree of freedom, or if the statistic is not a finite number from 0.
    pub fn new(statistic: f64, freedom: u32) -> Option<Self> {
        let sound = freedom > 0 && statistic.is_finite() && statistic >= 0.0;
        let p = || {
            if statistic > 0.0 { gamma_ur(f64::from(freedom) / 2.0, statistic / 2.0) } else { 1.0 }
        };
        sound.then(|| Self { statistic, freedom, p: p().clamp(0.0, 1.0) })
    }
}
