//! Likeness told apart from favourite guesses.

use std::collections::BTreeMap;

use myonym_stats::{Square, similarity};

use super::counts::Counts;
use crate::observe::MuscleId;

/// A muscle takes part once it was answered this often: with fewer, a row says nothing.
const LEAST: u32 = 20;
/// The fit is of a square table; of more muscles than this, those asked most take part.
const MOST: usize = 60;

/// The similarity-choice model fitted to a class.
pub(super) struct Likenesses {
    places: BTreeMap<MuscleId, usize>,
    likeness: Option<similarity::Likeness>,
}

impl Likenesses {
    /// Fits the muscles that were asked and answered enough, with one answer spread over each row
    /// so that empty cells have a fit.
    pub(super) fn fit(counts: &Counts) -> Self {
        let mut enough: Vec<(u32, MuscleId)> = (counts.given.iter())
            .filter(|(_, given)| **given >= LEAST)
            .map(|(muscle, given)| (*given, *muscle))
            .collect();
        enough.sort_by(|a, b| b.cmp(a));
        enough.truncate(MOST);
        let mut muscles: Vec<MuscleId> = enough.into_iter().map(|(_, muscle)| muscle).collect();
        muscles.sort_unstable();
        let row = |asked: &MuscleId| -> Vec<f64> {
            muscles.iter().map(|said| f64::from(counts.count(*asked, *said))).collect()
        };
        let rows: Vec<Vec<f64>> = muscles.iter().map(row).collect();
        let likeness = u32::try_from(rows.len())
            .ok()
            .filter(|size| *size >= 3)
            .and_then(|size| Square::new(&rows)?.plus(1.0 / f64::from(size)))
            .and_then(|table| similarity::fit(&table).ok())
            .map(|fit| fit.likeness);
        let places = muscles.into_iter().enumerate().map(|(place, muscle)| (muscle, place));
        Self { places: places.collect(), likeness }
    }

    /// How alike two muscles are to the class, from 0.
    pub(super) fn similarity(&self, a: MuscleId, b: MuscleId) -> Option<f64> {
        let (a, b) = (*self.places.get(&a)?, *self.places.get(&b)?);
        Some(*self.likeness.as_ref()?.eta.get(a)?.get(b)?)
    }

    /// How often a muscle is guessed whatever is asked, times what equal favour would be.
    pub(super) fn favourite(&self, muscle: MuscleId) -> Option<f64> {
        let likeness = self.likeness.as_ref()?;
        let size = u32::try_from(likeness.beta.len()).ok()?;
        Some(likeness.beta.get(*self.places.get(&muscle)?)? * f64::from(size))
    }
}
