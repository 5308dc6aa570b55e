//! How sure a statement is, and the interval that it speaks of.

/// A probability strictly between 0 and 1: how sure an interval is, or where a quantile lies.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Level(f64);

impl Level {
    /// 90 %.
    pub const P90: Self = Self(0.90);
    /// 95 %.
    pub const P95: Self = Self(0.95);
    /// 99 %.
    pub const P99: Self = Self(0.99);

    /// `None` unless 0 < `probability` < 1.
    pub fn new(probability: f64) -> Option<Self> {
        (probability > 0.0 && probability < 1.0).then_some(Self(probability))
    }

    /// The probability.
    pub const fn get(self) -> f64 {
        self.0
    }

    /// The probability left out on each side of an interval that lies in the middle.
    pub(crate) fn tail(self) -> f64 {
        0.5 * (1.0 - self.0)
    }
}

/// From `low` to `high`, both ends included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// The lower end.
    pub low: f64,
    /// The upper end.
    pub high: f64,
}

impl Interval {
    /// Whether `value` lies in it.
    pub fn holds(&self, value: f64) -> bool {
        self.low <= value && value <= self.high
    }

    /// Upper end less lower end.
    pub fn width(&self) -> f64 {
        self.high - self.low
    }
}
