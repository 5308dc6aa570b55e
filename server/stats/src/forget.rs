//! What was seen long ago counts less.

use crate::{Beta, Tally};

/// The part that is still known after `elapsed`, if half of it is lost in `half_life` (same unit):
/// 2^(-t/h). `None` unless `half_life` is above 0 and `elapsed` from 0.
///
/// Half-life form: Settles B, Meeder B 2016, Proc. Assoc. Comput. Linguist. 54:1848-1858.
pub fn retained(elapsed: f64, half_life: f64) -> Option<f64> {
    (half_life > 0.0 && elapsed >= 0.0)
        .then(|| (-elapsed / half_life).exp2())
        .filter(|p| !p.is_nan())
}

/// The part of the work of learning that is saved on learning again `minutes` later, of syllables
/// without sense: k / ((log₁₀ t)^c + k) with k = 1.84 and c = 1.25. `None` below a minute.
///
/// Ebbinghaus H 1885, Über das Gedächtnis, chapter 7 (constants from memory). One man's curve: fast
/// at first and slow later, as no half-life is. It shows a shape; it is not fitted to a class.
pub fn saved(minutes: f64) -> Option<f64> {
    let (k, c) = (1.84, 1.25);
    (minutes >= 1.0).then(|| k / (minutes.log10().powf(c) + k))
}

/// How evidence fades, and how much answers to the same clue share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fading {
    discount: f64,
    sharing: f64,
}

/// Answers of one round.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Round {
    /// How many rounds ago (or days, if the discount is a day's); 0 is now.
    pub age: f64,
    /// Confusions of answers.
    pub seen: Tally,
    /// What one of these answers weighs beside a plain one, from 0; 1 for a plain one.
    pub weight: f64,
}

impl Fading {
    /// Evidence keeps the part `discount` of its weight from one round to the next (0 < g ≤ 1; about
    /// 0.9 serves), and answers of one round correlate by `sharing` (0 ≤ ρ ≤ 1), as all had the
    /// same clue. `None` outside these.
    pub fn new(discount: f64, sharing: f64) -> Option<Self> {
        let sound = discount > 0.0 && discount <= 1.0 && (0.0..=1.0).contains(&sharing);
        sound.then_some(Self { discount, sharing })
    }

    /// The same by the age at which evidence weighs half.
    pub fn of_half_life(half_life: f64, sharing: f64) -> Option<Self> {
        Self::new(retained(1.0, half_life)?, sharing)
    }

    /// What evidence of this age still weighs: g^age. `None` for an age below 0.
    pub fn weight(self, age: f64) -> Option<f64> {
        (age >= 0.0).then(|| self.discount.powf(age))
    }

    /// How many answers of one round weigh as one answer alone: 1 + (m - 1) ρ. Kish L 1965, Survey
    /// Sampling.
    pub fn design_effect(self, answers: u32) -> f64 {
        1.0 + f64::from(answers.saturating_sub(1)) * self.sharing
    }

    /// The prior and the faded rounds: `α = α₀ + Σ w_r g^r s_r / f_r` and
    /// `β = β₀ + Σ w_r g^r (m_r - s_r) / f_r`, with f the design effect and w the weight. The data
    /// fade, the prior does not. `None` if an age or a weight is below 0, or past what [`Beta`] can
    /// hold.
    ///
    /// Discounting: Russo DJ, Van Roy B, Kazerouni A, Osband I, Wen Z 2018, Found. Trends Mach.
    /// Learn. 11(1), 6.3; Raj V, Kalyani S 2017, arXiv 1707.09727.
    pub fn posterior(self, prior: Beta, rounds: &[Round]) -> Option<Beta> {
        let (mut hits, mut misses) = (0.0, 0.0);
        for round in rounds {
            if round.weight < 0.0 {
                return None;
            }
            let faded = self.weight(round.age)? / self.design_effect(round.seen.of());
            let weight = round.weight * faded;
            hits += weight * f64::from(round.seen.hits());
            misses += weight * f64::from(round.seen.misses());
        }
        prior.after_part(hits, misses)
    }
}
