//! From credit, elapsed time and limit to points.

use std::ops::AddAssign;

use myonym_wire::{ScoreRule, Verdict};
use serde::{Deserialize, Serialize};

/// Points in hundredths, so that sums and ties are exact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Points(pub i64);

impl Points {
    /// Points as a number, to one hundredth.
    #[expect(clippy::cast_precision_loss, reason = "a review's points stay far below 2^52")]
    pub fn as_f64(self) -> f64 {
        self.0 as f64 / 100.0
    }

    #[expect(clippy::cast_possible_truncation, reason = "a round's points lie within +-100")]
    fn rounded(points: f64) -> Self {
        Self((points * 100.0).round() as i64)
    }
}

impl AddAssign for Points {
    fn add_assign(&mut self, other: Self) {
        self.0 += other.0;
    }
}

/// The most credit that a near-miss may earn.
///
/// With c the credit of a near-miss, a student who has narrowed the muscle down to k neighbours
/// gains by blurting exactly when c > (k-2)/(2(k-1)) under signed residual time. At 0.25 that is
/// zero for three neighbours and negative beyond; from 0.5 blurting would always pay.
pub const NEAR_MOST: f64 = 0.25;

/// Nearness up to which an answer earns nothing. It lies above pairs that share only the region and
/// the joint (deltoid and teres minor) and below neighbours that share attachments and movements.
pub const NEAR_FROM: f64 = 0.35;

/// Credit of an answer: 1 for the right muscle; for another, from 0 at nearness [`NEAR_FROM`]
/// rising in a line to [`NEAR_MOST`] at nearness 1, in steps of 0.0001: a number as short as that
/// is read from a log to the last bit, a longer one need not be.
pub fn credit(right: bool, nearness: f64) -> f64 {
    if right {
        return 1.0;
    }
    let credit = NEAR_MOST * ((nearness - NEAR_FROM) / (1.0 - NEAR_FROM)).clamp(0.0, 1.0);
    (credit * 10_000.0).round() / 10_000.0
}

/// Credit of a choice between two: the wrong one earns nothing, however near it is.
///
/// With c the credit of the wrong one, a coin flipped at once is worth (1 + (2c - 1)) / 2 = c of the
/// time left under signed residual time, so that with 0 it is worth nothing at any moment. Under the
/// speed-weighted rule, which takes nothing away, guessing is never worth less than silence, between
/// two names as among many.
pub fn credit_of_two(right: bool) -> f64 {
    if right { 1.0 } else { 0.0 }
}

/// How an answer with this credit is called.
pub fn verdict(exact: bool, credit: f64) -> Verdict {
    if exact {
        Verdict::Right
    } else if credit > 0.0 {
        Verdict::Near
    } else {
        Verdict::Wrong
    }
}

/// Points of an answer with credit `c` (0 to 1) given after `elapsed_ms` of `limit_ms`.
///
/// Without a limit the elapsed share is 0. Silence is worth 0 points and has no answer to score.
///
/// - [`ScoreRule::SpeedWeighted`]: 100 c (1 - t/2d), our own: never negative, and as t/2d is at
///   most one half, a right answer is worth at least 50 and a near-miss at most 25.
/// - [`ScoreRule::SignedResidualTime`]: 100 (2c - 1)(1 - t/d); Maris & van der Maas 2012,
///   Psychometrika 77(4):615-633, with partial credit put in for the 0/1 score.
pub fn points(rule: ScoreRule, c: f64, elapsed_ms: u64, limit_ms: Option<u32>) -> Points {
    let share = share_of_limit(elapsed_ms, limit_ms);
    Points::rounded(match rule {
        ScoreRule::SpeedWeighted => 100.0 * c * (1.0 - share / 2.0),
        ScoreRule::SignedResidualTime => 100.0 * (2.0 * c - 1.0) * (1.0 - share),
    })
}

#[expect(clippy::cast_precision_loss, reason = "a round's milliseconds stay far below 2^52")]
fn share_of_limit(elapsed_ms: u64, limit_ms: Option<u32>) -> f64 {
    match limit_ms {
        None => 0.0,
        Some(0) => 1.0,
        Some(limit) => (elapsed_ms as f64 / f64::from(limit)).clamp(0.0, 1.0),
    }
}
