//! What each round showed of a muscle, and each review of two that were offered.

use std::collections::BTreeMap;

use myonym_content::MuscleKey;
use myonym_stats::Tally;

use crate::observe::{Observations, Outcome};

pub(super) const WEEK_S: i64 = 7 * 24 * 3600;

/// What one round showed of one muscle.
#[derive(Default)]
pub(super) struct Occasion {
    pub(super) opened_s: i64,
    pub(super) answers: u32,
    pub(super) right: u32,
    pub(super) said: BTreeMap<MuscleKey, u32>,
}

/// What one review showed of two muscles where both were offered.
pub(super) struct Choices {
    opened_s: i64,
    /// Wrong choices of those made.
    pub(super) seen: Tally,
}

/// Rounds by muscle asked, in the order held. Silence is no answer and says nothing of a pair.
pub(super) fn occasions(table: &Observations) -> BTreeMap<MuscleKey, Vec<Occasion>> {
    let mut rounds: BTreeMap<u32, Occasion> = BTreeMap::new();
    for row in table.rows() {
        let occasion = rounds.entry(row.round).or_default();
        let said = match row.outcome {
            Outcome::TimedOut | Outcome::Omitted => continue,
            Outcome::Right => {
                occasion.right += 1;
                None
            }
            Outcome::Near(said) | Outcome::Said(said) => table.key(said),
            Outcome::NoName => None,
        };
        occasion.answers += 1;
        if let Some(said) = said {
            *occasion.said.entry(said.clone()).or_default() += 1;
        }
    }
    let mut by_muscle: BTreeMap<MuscleKey, Vec<Occasion>> = BTreeMap::new();
    for (place, mut occasion) in rounds {
        let round = usize::try_from(place).ok().and_then(|place| table.rounds().get(place));
        let Some((round, key)) = round.and_then(|round| Some((round, table.key(round.asked)?)))
        else {
            continue;
        };
        let review = usize::try_from(round.review).ok().and_then(|at| table.reviews().get(at));
        occasion.opened_s = review.map(|review| review.opened_s).unwrap_or_default();
        by_muscle.entry(key.clone()).or_default().push(occasion);
    }
    by_muscle
}

/// Choices by muscle described and muscle offered beside it, review after review. Silence is none.
pub(super) fn choices(
    table: &Observations,
) -> BTreeMap<MuscleKey, BTreeMap<MuscleKey, Vec<Choices>>> {
    let mut found: BTreeMap<MuscleKey, BTreeMap<MuscleKey, Vec<Choices>>> = BTreeMap::new();
    for (place, review) in (0..).zip(table.reviews()) {
        for counted in table.contrasted_in(place) {
            let keys = table.key(counted.asked).zip(table.key(counted.beside));
            let seen = Tally::new(counted.wrong, counted.wrong + counted.right);
            let Some(((asked, beside), seen)) = keys.zip(seen) else { continue };
            let of_asked = found.entry(asked.clone()).or_default();
            let of_pair = of_asked.entry(beside.clone()).or_default();
            of_pair.push(Choices { opened_s: review.opened_s, seen });
        }
    }
    found
}

/// The age of each occasion: how often its muscle was asked since, and the weeks since.
pub(super) fn ages(own: &[Occasion], now: i64) -> Vec<f64> {
    let later = (0..own.len()).rev();
    own.iter().zip(later).map(|(one, later)| age(later, one.opened_s, now)).collect()
}

impl Choices {
    /// The same of choices, by the names of later reviews.
    pub(super) fn age(&self, own: &[Occasion], now: i64) -> f64 {
        let later = own.iter().filter(|one| one.opened_s > self.opened_s).count();
        age(later, self.opened_s, now)
    }
}

fn age(later: usize, opened_s: i64, now: i64) -> f64 {
    let later = u32::try_from(later).unwrap_or(u32::MAX);
    let weeks = u32::try_from(((now - opened_s) / WEEK_S).max(0)).unwrap_or(u32::MAX);
    f64::from(later) + f64::from(weeks)
}
