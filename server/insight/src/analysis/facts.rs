//! What the catalogue knows of the muscles of a table.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use myonym_content::contrast::contrast;
use myonym_content::near::Compared;
use myonym_content::{Catalogue, Course, Level, ListKey, Muscle, MuscleKey};
use myonym_engine::score;

use super::abreast::abreast;
use super::found::Named;
use super::pairs::{Apart, Facts};
use crate::observe::{MuscleId, Observations};

/// Aspect under which a contrast tells lines of pull.
const LINE_OF_PULL: &str = "line of pull";

/// The facts of one catalogue, with what was looked up kept.
pub(super) struct CatalogueFacts<'c> {
    catalogue: &'c Catalogue,
    muscles: Vec<(Named, Option<&'c Muscle>)>,
    /// The list of the last review in which each muscle was asked.
    lists: BTreeMap<MuscleId, ListKey>,
    /// Made when first asked for, as most reports need one or none.
    courses: BTreeMap<ListKey, OnceLock<Option<Course>>>,
    near: BTreeMap<(MuscleId, MuscleId), f64>,
}

impl<'c> CatalogueFacts<'c> {
    pub(super) fn new(catalogue: &'c Catalogue, table: &Observations) -> Self {
        let muscle = |id: MuscleId| {
            let key = table.key(id).cloned().unwrap_or_else(|| MuscleKey::new(""));
            let found = catalogue.muscle(&key);
            (Named { key, name: table.name(id).to_owned() }, found)
        };
        let muscles: Vec<_> = table.muscles().map(muscle).collect();
        let mut lists = BTreeMap::new();
        for round in table.rounds() {
            let review = usize::try_from(round.review).ok().and_then(|at| table.reviews().get(at));
            lists.extend(review.map(|review| (round.asked, review.list.clone())));
        }
        let courses = lists.values().map(|list| (list.clone(), OnceLock::new())).collect();
        let compare = |(id, (_, muscle)): (MuscleId, &(Named, Option<&'c Muscle>))| {
            Some((id, Compared::new(&catalogue.vocabulary, (*muscle)?)))
        };
        let known: Vec<_> = table.muscles().zip(&muscles).filter_map(compare).collect();
        let (even, odd) = abreast(|| compared(&known, 0), || compared(&known, 1));
        let near = even.into_iter().chain(odd).collect();
        Self { catalogue, muscles, lists, courses, near }
    }

    /// How alike two muscles are by their facts, from 0 to 1.
    pub(super) fn likeness(&self, a: MuscleId, b: MuscleId) -> f64 {
        self.near.get(&(a.min(b), a.max(b))).copied().unwrap_or_default()
    }

    /// The muscle with its facts.
    pub(super) fn muscle(&self, muscle: MuscleId) -> Option<&'c Muscle> {
        self.muscles.get(usize::from(muscle.0))?.1
    }
}

/// Every second muscle, from this one on, compared with all that follow it.
fn compared(muscles: &[(MuscleId, Compared<'_>)], from: usize) -> Vec<((MuscleId, MuscleId), f64)> {
    let firsts = muscles.iter().enumerate().skip(from).step_by(2);
    let pairs = firsts.flat_map(|(at, first)| muscles[at + 1..].iter().map(move |b| (first, b)));
    pairs.map(|((a, first), (b, second))| ((*a, *b), first.with(second).value())).collect()
}

impl Facts for CatalogueFacts<'_> {
    fn neighbours(&self, a: MuscleId, b: MuscleId) -> bool {
        score::credit(false, self.likeness(a, b)) > 0.0
    }

    fn named(&self, muscle: MuscleId) -> Named {
        let known = self.muscles.get(usize::from(muscle.0)).map(|(named, _)| named.clone());
        known.unwrap_or_else(|| Named { key: MuscleKey::new(""), name: String::new() })
    }

    /// As the course teaches it in whose review the muscle was asked last; where its list is not in
    /// the catalogue, as an introductory course would.
    fn apart(&self, asked: MuscleId, said: MuscleId) -> Apart {
        let (Some(first), Some(second)) = (self.muscle(asked), self.muscle(said)) else {
            return Apart::default();
        };
        let catalogue = self.catalogue;
        let course = self.lists.get(&asked).and_then(|key| {
            let ready = || Course::new(catalogue, catalogue.list(key)?).ok();
            self.courses.get(key)?.get_or_init(ready).as_ref()
        });
        let taught = course.and_then(|course| course.contrast(&first.key, &second.key));
        let taught = taught
            .unwrap_or_else(|| contrast(&catalogue.vocabulary, Level::Introductory, first, second));
        let (pull, mut others): (Vec<_>, Vec<_>) =
            taught.apart.into_iter().partition(|one| one.aspect == LINE_OF_PULL);
        others.truncate(1);
        Apart { most_telling: others.pop(), line_of_pull: pull.into_iter().next() }
    }
}
