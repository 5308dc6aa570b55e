//! Chance for the tests: the same on every run.

use proptest::prelude::*;
use proptest::test_runner::{RngAlgorithm, TestRng};

use myonym_mechanics::{Point, Vec3};

pub(crate) struct Chance(TestRng);

impl Chance {
    pub(crate) fn new() -> Self {
        Self(TestRng::deterministic_rng(RngAlgorithm::ChaCha))
    }

    /// A standard normal number (Box and Muller 1958).
    pub(crate) fn normal(&mut self) -> f64 {
        let [radius, angle]: [f64; 2] = [1.0 - self.0.random::<f64>(), self.0.random()];
        (-2.0 * radius.ln()).sqrt() * (std::f64::consts::TAU * angle).cos()
    }

    pub(crate) fn shift(&mut self, spread: f64) -> Vec3 {
        Vec3::new(self.normal(), self.normal(), self.normal()) * spread
    }

    /// A line whose points are off by chance, as their spreads say.
    pub(crate) fn draw(&mut self, path: &[Point]) -> Vec<Point> {
        path.iter()
            .map(|point| Point { at: point.at + self.shift(point.spread), ..*point })
            .collect()
    }
}

/// Chance that a standard normal number is below `x` (Abramowitz and Stegun 26.2.17: right to
/// 7.5e-8).
pub(crate) fn normal_below(x: f64) -> f64 {
    let t = 1.0 / (1.0 + 0.231_641_9 * x.abs());
    let terms = [1.330_274_429, -1.821_255_978, 1.781_477_937, -0.356_563_782, 0.319_381_530];
    let polynomial = terms.iter().fold(0.0, |sum, term| (sum + term) * t);
    let tail = (-x * x / 2.0).exp() / std::f64::consts::TAU.sqrt() * polynomial;
    if x < 0.0 { tail } else { 1.0 - tail }
}
