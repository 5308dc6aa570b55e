//! What a quick answer is worth, right or wrong, and what it says of who gave it.
//!
//! Signed residual time: S = (2c - 1) u, with c the credit of the answer (1 right, 0 wrong) and
//! u = 1 - t/d the part of the time limit d that was left. With no answer it is 0. If S is to say all
//! of the ability that an answer of c = 0 or 1 says, right answers follow the Rasch model and
//! E S = coth δ - 1/δ, where δ is ability less difficulty. Maris G, van der Maas H 2012, Psychometrika
//! 77:615-633. Credit between 0 and 1 is our extension: fit for points, not for ratings.

use crate::hermite::posterior;

/// S of an answer with `credit` from 0 to 1 after `elapsed` of `limit`, from -1 to 1; past the limit
/// 0. `None` unless the credit is in range, the time from 0 and the limit above 0.
pub fn score(credit: f64, elapsed: f64, limit: f64) -> Option<f64> {
    let sound = (0.0..=1.0).contains(&credit) && elapsed >= 0.0 && limit > 0.0;
    let left = || if elapsed < limit { 1.0 - elapsed / limit } else { 0.0 };
    sound.then(|| (2.0 * credit - 1.0) * left())
}

/// E S for `gap`, ability less difficulty in logits: coth δ - 1/δ (Langevin's function), from -1 to 1.
///
/// Near 0 both terms are large and nearly cancel; there it is the series δ/3 - δ³/45 + 2δ⁵/945 -
/// δ⁷/4725 + 2δ⁹/93555.
pub fn expected(gap: f64) -> f64 {
    if gap.abs() > NEAR_0 {
        return 1.0 / gap.tanh() - 1.0 / gap;
    }
    let square = gap * gap;
    gap * SERIES.iter().rev().fold(0.0, |sum, factor| factor + square * sum)
}

/// The series leaves out less than 1e-16 up to here.
const NEAR_0: f64 = 0.1;
const SERIES: [f64; 5] = [1.0 / 3.0, -1.0 / 45.0, 2.0 / 945.0, -1.0 / 4725.0, 2.0 / 93555.0];

/// What the model says of answers with more than two credits.
#[derive(Debug, Clone, PartialEq)]
pub struct Levels {
    /// The probability of each credit.
    pub chances: Vec<f64>,
    /// E S.
    pub expected: f64,
}

/// The same model with a credit between right and wrong: the density of credit c at u is as
/// `h_c exp(δ w_c u)`, w = 2c - 1, for pairs (w, h). With z = δ w, P(c) is as `h_c (e^z - 1) / z`, and
/// E(u | c) = (1 + coth(z/2) - 2/z) / 2. `None` without a pair, or unless every w is from -1 to 1 and
/// every h is a finite number above 0.
pub fn levels(gap: f64, pairs: &[(f64, f64)]) -> Option<Levels> {
    let sound = |(w, h): &(f64, f64)| (-1.0..=1.0).contains(w) && h.is_finite() && *h > 0.0;
    if pairs.is_empty() || !gap.is_finite() || !pairs.iter().all(sound) {
        return None;
    }
    let (chances, _) =
        posterior(pairs.iter().map(|(w, h)| h.ln() + ln_mean_exp(gap * w)).collect());
    let left = |w: f64| f64::midpoint(1.0, expected(gap * w / 2.0));
    let expected = chances.iter().zip(pairs).map(|(p, (w, _))| p * w * left(*w)).sum();
    Some(Levels { chances, expected })
}

/// ln((e^z - 1) / z), the logarithm of the mean of e^(zu) over u from 0 to 1; 0 at 0.
fn ln_mean_exp(z: f64) -> f64 {
    let size = z.abs();
    let falling = if size > 0.0 { -(-size).exp_m1() / size } else { 1.0 };
    z.max(0.0) + falling.ln()
}

/// What naming one of `names` equally likely names earns on average, by the part of the time left,
/// if `near` of the wrong ones get `credit`: (1 + m (2c - 1) - (N - 1 - m)) / N. Above 0 it pays to blurt.
/// `None` unless there are more names than near ones and the credit is from 0 to 1.
pub fn guess(names: u32, near: u32, credit: f64) -> Option<f64> {
    let wrong = names.checked_sub(1)?.checked_sub(near)?;
    let sum = 1.0 + f64::from(near) * (2.0 * credit - 1.0) - f64::from(wrong);
    (0.0..=1.0).contains(&credit).then(|| sum / f64::from(names))
}

/// The credit at which [`guess`] among `names` that are all near each other earns nothing:
/// (k - 2) / (2 (k - 1)). It stays below a half, so credit of a half always pays for blurting. `None`
/// of fewer than two names.
pub fn break_even(names: u32) -> Option<f64> {
    (names >= 2).then(|| f64::from(names - 2) / (2.0 * f64::from(names - 1)))
}

/// The credit that an answer can expect: the belief in each name by the answer's credit where that
/// name is right. The best answer need not be the name believed most; it is, if that leads every
/// other by more than the credit that the other can pick up.
pub fn expected_credit(belief: &[f64], credit: &[f64]) -> f64 {
    crate::linear::dot(belief, credit)
}

/// A place on the scale that moves with every answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rating {
    /// Where, in logits.
    pub at: f64,
    /// How unsure that is, from 0 to 1.
    pub doubt: f64,
}

/// How far an answer moves a rating: K (1 + K₊ own doubt - K₋ the other's doubt).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pace {
    /// K, in logits.
    pub step: f64,
    /// K₊.
    pub own: f64,
    /// K₋.
    pub other: f64,
}

impl Default for Pace {
    /// 0.0075, 4 and 0.5, the constants of Klinkenberg and others (2011): for many thousands of
    /// answers. A class with some rounds needs a larger step, about 0.1 (our estimate).
    fn default() -> Self {
        Self { step: 0.0075, own: 4.0, other: 0.5 }
    }
}

impl Pace {
    /// How far `own` moves for each point of score that was not expected.
    pub fn of(self, own: Rating, other: Rating) -> f64 {
        self.step * (1.0 + self.own * own.doubt - self.other * other.doubt)
    }

    /// The student's and the item's rating after an answer of this [`score`]: the student's rises by K (S -
    /// E S), the item's falls by its own K times as much.
    ///
    /// Klinkenberg S, Straatemeier M, van der Maas H 2011, Computers & Education 57:1813-1824.
    /// Doubts stay as they are: see [`Rating::rested`].
    pub fn answered(self, student: Rating, item: Rating, score: f64) -> (Rating, Rating) {
        let surprise = score - expected(student.at - item.at);
        let moved =
            |own: Rating, other, by| Rating { at: own.at + by * self.of(own, other), ..own };
        (moved(student, item, surprise), moved(item, student, -surprise))
    }
}

impl Rating {
    /// After one more answer, `days` after the last: doubt falls by 1/40 and rises by 1/30 a day,
    /// within 0 and 1. Doubt that is not a number becomes 1.
    #[must_use]
    pub fn rested(self, days: f64) -> Self {
        let doubt = self.doubt - 1.0 / 40.0 + days / 30.0;
        Self { doubt: if doubt.is_nan() { 1.0 } else { doubt.clamp(0.0, 1.0) }, ..self }
    }
}
