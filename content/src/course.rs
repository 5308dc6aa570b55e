//! A muscle list made ready for a review: names, clues, nearness and contrasts.

use std::collections::{BTreeMap, BTreeSet};

use crate::catalogue::Catalogue;
use crate::clue::{Clue, OrderedClue, clues};
use crate::contrast::{Contrast, contrast};
use crate::list::MuscleList;
use crate::model::{ListKey, Muscle, MuscleKey};
use crate::name::{NameIndex, Resolution};
use crate::near::nearness;
use crate::place::Placed;
use crate::statement::{statements, taught};
use crate::vocabulary::Vocabulary;

/// Clues told of one muscle at most, where that many suffice.
pub const MOST_CLUES: usize = 5;

/// Why a muscle list cannot be reviewed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CourseError {
    /// There is nothing to ask.
    #[error("muscle list `{list}` has no muscles: add some")]
    Empty {
        /// The list.
        list: ListKey,
    },
    /// A muscle of the list has no facts.
    #[error("muscle list `{list}`: muscle `{muscle}` has no facts: add them or leave it out")]
    NoFacts {
        /// The list.
        list: ListKey,
        /// The muscle.
        muscle: MuscleKey,
    },
    /// Nothing that the course teaches may be said of a muscle without naming it.
    #[error("muscle list `{list}`: no clue can be given for {muscle}: hide fewer kinds of fact")]
    NoClue {
        /// The list.
        list: ListKey,
        /// English name of the muscle.
        muscle: String,
    },
    /// All clues of one muscle are true of another one of the list as well.
    #[error(
        "muscle list `{list}`: every clue for {muscle} fits {other} too: \
         hide fewer kinds of fact, or leave one of them out"
    )]
    Indistinct {
        /// The list.
        list: ListKey,
        /// English name of the muscle that cannot be singled out.
        muscle: String,
        /// English name of the other muscle.
        other: String,
    },
}

/// A muscle list made ready. It holds copies of all that it needs of the catalogue.
#[derive(Debug, Clone)]
pub struct Course {
    list: MuscleList,
    vocabulary: Vocabulary,
    muscles: BTreeMap<MuscleKey, Muscle>,
    index: NameIndex,
    items: Vec<Item>,
}

/// A muscle of the list with its clues.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// The muscle.
    pub muscle: MuscleKey,
    /// English name.
    pub name: String,
    /// Latin name in full.
    pub latin: String,
    /// Clues in the order told. After the last the muscle is the only one of the list left.
    pub clues: Vec<OrderedClue>,
}

impl Course {
    /// Makes a list ready.
    ///
    /// # Errors
    ///
    /// If the list has no muscles, a muscle without facts, or one that its clues cannot single out.
    pub fn new(catalogue: &Catalogue, list: &MuscleList) -> Result<Self, CourseError> {
        let muscle = |key: &MuscleKey| {
            let no_facts = || CourseError::NoFacts { list: list.key.clone(), muscle: key.clone() };
            catalogue.muscle(key).ok_or_else(no_facts)
        };
        let listed: Vec<&Muscle> = list.muscles.iter().map(muscle).collect::<Result<_, _>>()?;
        if listed.is_empty() {
            return Err(CourseError::Empty { list: list.key.clone() });
        }
        let v = &catalogue.vocabulary;
        let placed: Vec<Placed<'_>> = listed.iter().map(|muscle| Placed::new(v, muscle)).collect();
        let items =
            listed.iter().map(|muscle| item(v, list, muscle, &placed)).collect::<Result<_, _>>()?;
        let muscles = catalogue.muscles().map(|muscle| (muscle.key.clone(), muscle.clone()));
        Ok(Self {
            list: list.clone(),
            vocabulary: v.clone(),
            muscles: muscles.collect(),
            index: NameIndex::of(catalogue),
            items,
        })
    }

    /// The muscle list.
    pub fn list(&self) -> &MuscleList {
        &self.list
    }

    /// The muscles of the list, in the order taught.
    pub fn items(&self) -> &[Item] {
        &self.items
    }

    /// A muscle of the list.
    pub fn item(&self, muscle: &MuscleKey) -> Option<&Item> {
        self.items.iter().find(|item| item.muscle == *muscle)
    }

    /// Which muscle of the whole catalogue a typed text names.
    pub fn resolve(&self, typed: &str) -> Resolution {
        self.index.resolve(typed)
    }

    /// English name of any muscle of the catalogue.
    pub fn name_of(&self, muscle: &MuscleKey) -> Option<String> {
        self.index.name_of(muscle).map(ToOwned::to_owned)
    }

    /// How alike two muscles of the catalogue are, from 0 to 1; 0 if the facts of either are not
    /// in.
    pub fn nearness(&self, a: &MuscleKey, b: &MuscleKey) -> f64 {
        match (self.muscles.get(a), self.muscles.get(b)) {
            (Some(a), Some(b)) => nearness(&self.vocabulary, a, b).value(),
            _ => 0.0,
        }
    }

    /// Two muscles side by side as this course teaches them; `None` if the facts of either are
    /// not in.
    pub fn contrast(&self, a: &MuscleKey, b: &MuscleKey) -> Option<Contrast> {
        let (a, b) = (self.taught(a)?, self.taught(b)?);
        Some(contrast(&self.vocabulary, self.list.level, &a, &b))
    }

    /// Every sentence true of a muscle that this course teaches, by kind, then text; also those
    /// that name it and so are never told as clues. Empty if its facts are not in.
    pub fn statements(&self, muscle: &MuscleKey) -> Vec<Clue> {
        let taught = self.taught(muscle);
        let said = taught.map(|taught| statements(&self.vocabulary, &taught)).unwrap_or_default();
        said.into_iter().map(|statement| statement.clue).collect()
    }

    fn taught(&self, muscle: &MuscleKey) -> Option<Muscle> {
        let MuscleList { level, hide, .. } = &self.list;
        Some(taught(&self.vocabulary, self.muscles.get(muscle)?, *level, hide))
    }
}

fn item(
    v: &Vocabulary,
    list: &MuscleList,
    muscle: &Muscle,
    listed: &[Placed<'_>],
) -> Result<Item, CourseError> {
    let Muscle { key, name, latin, .. } = muscle;
    let said = statements(v, &taught(v, muscle, list.level, &list.hide));
    let fits = match clues(v, muscle, &said, listed) {
        Ok(clues) if !clues.is_empty() => {
            let (muscle, name, latin) = (key.clone(), name.clone(), latin.clone());
            return Ok(Item { muscle, name, latin, clues });
        }
        Ok(_) => BTreeSet::new(),
        Err(fits) => fits,
    };
    let (list, muscle) = (list.key.clone(), name.clone());
    let mut listed = listed.iter().map(|placed| placed.muscle);
    Err(match listed.find(|other| other.key != *key && fits.contains(&other.key)) {
        Some(other) => CourseError::Indistinct { list, muscle, other: other.name.clone() },
        None => CourseError::NoClue { list, muscle },
    })
}
