//! What simulated students know of a course.

use std::collections::{BTreeMap, BTreeSet};

use myonym_content::{Course, MuscleKey};

/// Pairs that are confused in a rehearsal.
const PAIRS: usize = 4;

/// Which muscles fit a clue, which stand near which, and which pairs are confused.
#[derive(Debug)]
pub(super) struct Knowledge {
    fits: BTreeMap<String, BTreeSet<MuscleKey>>,
    all: BTreeSet<MuscleKey>,
    names: BTreeMap<MuscleKey, String>,
    nearest: BTreeMap<MuscleKey, Vec<MuscleKey>>,
    planted: BTreeMap<MuscleKey, MuscleKey>,
}

impl Knowledge {
    pub(super) fn new(course: &Course) -> Self {
        let muscles: Vec<&MuscleKey> = course.items().iter().map(|item| &item.muscle).collect();
        let mut fits: BTreeMap<String, BTreeSet<MuscleKey>> = BTreeMap::new();
        for muscle in &muscles {
            for clue in course.statements(muscle) {
                fits.entry(clue.text).or_default().insert((*muscle).clone());
            }
        }
        let nearest = muscles
            .iter()
            .map(|muscle| {
                let mut others: Vec<&MuscleKey> =
                    muscles.iter().copied().filter(|other| other != muscle).collect();
                others.sort_by(|a, b| {
                    course.nearness(muscle, b).total_cmp(&course.nearness(muscle, a))
                });
                ((*muscle).clone(), others.into_iter().cloned().collect())
            })
            .collect();
        let names =
            course.items().iter().map(|item| (item.muscle.clone(), item.name.clone())).collect();
        let planted = plant(course, &muscles);
        Self { fits, all: muscles.into_iter().cloned().collect(), names, nearest, planted }
    }

    /// The muscles that fit all of these clues.
    pub(super) fn candidates<'a>(&self, clues: impl Iterator<Item = &'a str>) -> Vec<MuscleKey> {
        let mut left = self.all.clone();
        for clue in clues {
            if let Some(fits) = self.fits.get(clue) {
                left.retain(|muscle| fits.contains(muscle));
            }
        }
        left.into_iter().collect()
    }

    /// The name of a muscle.
    pub(super) fn name(&self, muscle: &MuscleKey) -> &str {
        self.names.get(muscle).map_or("", String::as_str)
    }

    /// The other muscles of the list, nearest first.
    pub(super) fn nearest(&self, muscle: &MuscleKey) -> &[MuscleKey] {
        self.nearest.get(muscle).map_or(&[], Vec::as_slice)
    }

    /// What is said for each muscle that is confused: one direction a pair.
    pub(super) fn planted(&self) -> &BTreeMap<MuscleKey, MuscleKey> {
        &self.planted
    }
}

/// The nearest pairs of the list, no muscle in two of them; of each pair one is taken for the other.
fn plant(course: &Course, muscles: &[&MuscleKey]) -> BTreeMap<MuscleKey, MuscleKey> {
    let mut pairs: Vec<(f64, &MuscleKey, &MuscleKey)> = Vec::new();
    for (at, a) in muscles.iter().enumerate() {
        for b in &muscles[at + 1..] {
            pairs.push((course.nearness(a, b), a, b));
        }
    }
    pairs.sort_by(|x, y| y.0.total_cmp(&x.0).then_with(|| (x.1, x.2).cmp(&(y.1, y.2))));
    let mut planted = BTreeMap::new();
    let mut used = BTreeSet::new();
    for (_, a, b) in pairs {
        if planted.len() < PAIRS && !used.contains(a) && !used.contains(b) {
            used.extend([a, b]);
            // The later name is taken for the earlier: teres minor for teres major.
            planted.insert(b.clone(), a.clone());
        }
    }
    planted
}
