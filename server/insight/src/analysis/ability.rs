//! Abilities and difficulties on one scale, and how sections come on.

use std::collections::BTreeMap;

use myonym_stats::rasch::{self, Spread};

use super::found::{Item, Named, Progress};
use super::pairs::Facts;
use super::responses::Sheet;
use crate::observe::{MuscleId, Observations, PersonId};

/// A class on one scale.
#[derive(Debug, Default)]
pub(super) struct Scale {
    /// Difficulty and its standard error by muscle, in logits.
    pub(super) logits: BTreeMap<MuscleId, (f64, f64)>,
    /// Ability and its standard error of each person in each review.
    abilities: Vec<((u32, PersonId), (f64, f64))>,
}

impl Scale {
    /// Fits the Rasch model; empty where there is nothing to fit.
    pub(super) fn fit(sheet: &Sheet) -> Self {
        let Ok(fit) = rasch::fit(&sheet.responses, Spread::default()) else {
            return Self::default();
        };
        let places = fit.difficulties.iter().map(|place| (place.at, place.error));
        Self {
            logits: sheet.muscles.iter().copied().zip(places).collect(),
            abilities: (sheet.whose.iter().copied())
                .zip(fit.abilities.iter().map(|place| (place.at, place.error)))
                .collect(),
        }
    }

    /// Gives each item its place.
    pub(super) fn place(&self, items: &mut [Item], facts: &impl Facts) {
        let logits = self.logits.iter().map(|(muscle, place)| (facts.named(*muscle), *place));
        let logits: BTreeMap<Named, (f64, f64)> = logits.collect();
        for item in items {
            item.logit = logits.get(&item.muscle).copied();
        }
    }

    /// Each section's mean ability in each review, in order of time. Who was absent is in no mean.
    pub(super) fn progress(
        &self,
        table: &Observations,
        opened: impl Fn(u32) -> String,
    ) -> Vec<Progress> {
        let mut by_review: BTreeMap<u32, Vec<(f64, f64)>> = BTreeMap::new();
        for ((review, _), ability) in &self.abilities {
            by_review.entry(*review).or_default().push(*ability);
        }
        let mut points: Vec<Progress> = by_review
            .into_iter()
            .filter_map(|(review, abilities)| {
                let place = usize::try_from(review).ok()?;
                let tag = table.reviews().get(place)?;
                let persons = u32::try_from(abilities.len()).ok()?;
                let (mean, half) = mean_of(&abilities)?;
                Some(Progress {
                    section: tag.section.clone(),
                    review: tag.review,
                    opened_s: tag.opened_s,
                    opened: opened(review),
                    persons,
                    ability: mean,
                    low: mean - half,
                    high: mean + half,
                    as_share: rasch::chance(mean, 0.0, 1.0),
                })
            })
            .collect();
        points
            .sort_by(|a, b| (a.section.cmp(&b.section)).then_with(|| a.opened_s.cmp(&b.opened_s)));
        points
    }
}

/// Mean, and half the width of its 95 % interval: from the spread of the abilities about their mean
/// and the error of each.
fn mean_of(abilities: &[(f64, f64)]) -> Option<(f64, f64)> {
    let count = u32::try_from(abilities.len()).ok().filter(|count| *count > 0).map(f64::from)?;
    let mean = abilities.iter().map(|one| one.0).sum::<f64>() / count;
    let variance = abilities.iter().map(|one| (one.0 - mean).powi(2) + one.1.powi(2)).sum::<f64>();
    Some((mean, 1.96 * (variance / count / count).sqrt()))
}
