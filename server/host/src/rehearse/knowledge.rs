//! What simulated students know of a course.

use std::collections::{BTreeMap, BTreeSet};

use myonym_content::{Course, MuscleKey};
use myonym_wire::{ClueShown, Picture};

use crate::room::unlabelled;

/// Pairs that are confused in a rehearsal.
const PAIRS: usize = 4;

/// Which muscles fit a clue, which stand near which, what each does, and which pairs are confused.
#[derive(Debug)]
pub(super) struct Knowledge {
    fits: BTreeMap<String, BTreeSet<MuscleKey>>,
    all: BTreeSet<MuscleKey>,
    names: BTreeMap<MuscleKey, String>,
    nearest: BTreeMap<MuscleKey, Vec<MuscleKey>>,
    planted: BTreeMap<MuscleKey, MuscleKey>,
    movements: BTreeMap<MuscleKey, Vec<String>>,
    /// How each muscle looks, where pictures are asked about.
    pictures: Vec<(Picture, MuscleKey)>,
}

impl Knowledge {
    /// What there is to know of a course, and of how its muscles look if `looks`.
    pub(super) fn new(course: &Course, looks: bool) -> Self {
        let muscles: Vec<&MuscleKey> = course.items().iter().map(|item| &item.muscle).collect();
        let mut fits: BTreeMap<String, BTreeSet<MuscleKey>> = BTreeMap::new();
        for muscle in &muscles {
            for clue in course.statements(muscle).into_iter().chain(course.attachments(muscle)) {
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
        let movements = muscles.iter().map(|muscle| {
            let taught = course.taught_movements(muscle).into_iter();
            let said = taught.map(|it| course.name_movement(&it.movement, Some(&it.joint)));
            ((*muscle).clone(), said.collect())
        });
        let look = |muscle: &&MuscleKey| Some((unlabelled(course, muscle)?, (*muscle).clone()));
        let pictures = muscles.iter().filter(|_| looks).filter_map(look).collect();
        Self {
            movements: movements.collect(),
            fits,
            all: muscles.into_iter().cloned().collect(),
            names,
            nearest,
            planted,
            pictures,
        }
    }

    /// The muscles that fit all of these clues.
    pub(super) fn candidates(&self, clues: &[ClueShown]) -> Vec<MuscleKey> {
        let mut left = self.all.clone();
        for clue in clues {
            if let Some(picture) = &clue.picture {
                let looks = self.pictures.iter().filter(|(known, _)| known == picture.as_ref());
                let looks: BTreeSet<&MuscleKey> = looks.map(|(_, muscle)| muscle).collect();
                left.retain(|muscle| looks.contains(muscle));
            } else if let Some(fits) = self.fits.get(&clue.text) {
                left.retain(|muscle| fits.contains(muscle));
            }
        }
        left.into_iter().collect()
    }

    /// What a muscle does, as the course teaches it.
    pub(super) fn movements(&self, muscle: &MuscleKey) -> &[String] {
        self.movements.get(muscle).map_or(&[], Vec::as_slice)
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
