//! A muscle list made ready for a review: names, clues, nearness and contrasts.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Mutex, PoisonError};

use crate::atlas::Atlas;
use crate::catalogue::Catalogue;
use crate::clue::{Clue, OrderedClue, clues};
use crate::contrast::{Contrast, contrast};
use crate::derived::Derived;
use crate::explain::{explanation, set_apart};
use crate::list::MuscleList;
use crate::model::{JointKey, ListKey, MovementKey, Muscle, MuscleKey, SourceKey};
use crate::movement_name::{MovementIndex, MovementResolution};
use crate::name::{NameIndex, Resolution};
use crate::near::nearness;
use crate::own_list::{CourseWords, OwnAbout, OwnList};
use crate::place::Placed;
use crate::statement::{Statement, reworded, statements, taught};
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
    atlas: Arc<Atlas>,
    muscles: BTreeMap<MuscleKey, Muscle>,
    index: NameIndex,
    movements: MovementIndex,
    items: Vec<Item>,
    words: CourseWords,
    likeness: Likeness,
    contrasts: Contrasts,
}

/// How alike pairs of muscles were found to be. A class that answers at once gives the same few
/// wrong answers hundreds of times, and to compare two muscles takes as long as all else of an
/// answer. Copies of a course share it.
type Likeness = Arc<Mutex<BTreeMap<MuscleKey, BTreeMap<MuscleKey, f64>>>>;

/// Pairs of muscles that were set side by side: an instructor sees those that the class confuses
/// after each round, and they are mostly the same. Copies of a course share it.
type Contrasts = Arc<Mutex<BTreeMap<(MuscleKey, MuscleKey), Contrast>>>;

/// Pairs kept side by side at most, some 2 KiB each; then it begins anew.
const KEPT: usize = 256;

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
        Self::in_words(catalogue, list, CourseWords::default())
    }

    /// Makes an instructor's own list ready, with the course's own words.
    ///
    /// # Errors
    ///
    /// As [`Course::new`].
    pub fn of_own(catalogue: &Catalogue, own: &OwnList) -> Result<Self, CourseError> {
        Self::in_words(catalogue, &own.list, own.words.clone())
    }

    fn in_words(
        catalogue: &Catalogue,
        list: &MuscleList,
        words: CourseWords,
    ) -> Result<Self, CourseError> {
        let prefer = words.prefer.as_ref();
        let muscles: BTreeMap<MuscleKey, Muscle> = catalogue
            .muscles()
            .map(|muscle| (muscle.key.clone(), preferring(muscle, prefer)))
            .collect();
        let muscle = |key: &MuscleKey| {
            let no_facts = || CourseError::NoFacts { list: list.key.clone(), muscle: key.clone() };
            muscles.get(key).ok_or_else(no_facts)
        };
        let listed: Vec<&Muscle> = list.muscles.iter().map(muscle).collect::<Result<_, _>>()?;
        if listed.is_empty() {
            return Err(CourseError::Empty { list: list.key.clone() });
        }
        let v = &catalogue.vocabulary;
        let placed: Vec<Placed<'_>> = listed.iter().map(|muscle| Placed::new(v, muscle)).collect();
        let item = |muscle: &&Muscle| item(v, list, &words, muscle, &placed);
        let items = listed.iter().map(item).collect::<Result<_, _>>()?;
        let mut index = NameIndex::of(catalogue);
        for (muscle, names) in &words.also {
            index.add_names(muscle, names);
        }
        let (list, vocabulary, atlas) = (list.clone(), v.clone(), catalogue.atlas.clone());
        let movements = MovementIndex::of(&vocabulary);
        Ok(Self {
            list,
            vocabulary,
            atlas,
            muscles,
            index,
            movements,
            items,
            words,
            likeness: Likeness::default(),
            contrasts: Contrasts::default(),
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

    /// The words that facts are made of.
    pub fn vocabulary(&self) -> &Vocabulary {
        &self.vocabulary
    }

    /// Where things are.
    pub fn atlas(&self) -> &Atlas {
        &self.atlas
    }

    /// A muscle of the catalogue with all its facts, whatever the course teaches of them.
    pub fn muscle(&self, muscle: &MuscleKey) -> Option<&Muscle> {
        self.muscles.get(muscle)
    }

    /// What a muscle and its parts do, as the atlas has it: the strongest first. Empty if the atlas
    /// has no line of pull of it.
    pub fn derived(&self, muscle: &MuscleKey) -> &[Derived] {
        self.atlas.derived(muscle)
    }

    /// Why a muscle does what this course teaches of it: one sentence for each action of which the
    /// atlas can judge.
    pub fn explanations(&self, muscle: &MuscleKey) -> Vec<String> {
        let Some(taught) = self.taught(muscle) else { return Vec::new() };
        let why = |action| explanation(&self.atlas, &self.vocabulary, &taught, action);
        taught.actions.iter().filter_map(why).collect()
    }

    /// Which muscle of the whole catalogue a typed text names.
    pub fn resolve(&self, typed: &str) -> Resolution {
        self.index.resolve(typed)
    }

    /// Which movement a typed text names.
    pub fn resolve_movement(&self, typed: &str) -> MovementResolution {
        self.movements.resolve(typed)
    }

    /// A movement in words, such as `lateral rotation of the arm`; without a joint, by its name alone.
    pub fn name_movement(&self, movement: &MovementKey, joint: Option<&JointKey>) -> String {
        let joints = joint.cloned().into_iter().collect();
        self.movements.named(movement, joints, None).name
    }

    /// English name of any muscle of the catalogue.
    pub fn name_of(&self, muscle: &MuscleKey) -> Option<String> {
        self.index.name_of(muscle).map(ToOwned::to_owned)
    }

    /// How alike two muscles of the catalogue are, from 0 to 1; 0 if the facts of either are not
    /// in.
    pub fn nearness(&self, a: &MuscleKey, b: &MuscleKey) -> f64 {
        let (Some(first), Some(second)) = (self.muscles.get(a), self.muscles.get(b)) else {
            return 0.0;
        };
        let mut known = self.likeness.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(value) = known.get(a).and_then(|row| row.get(b)) {
            return *value;
        }
        let value = nearness(&self.vocabulary, first, second).value();
        known.entry(a.clone()).or_default().insert(b.clone(), value);
        value
    }

    /// Two muscles side by side as this course teaches them; `None` if the facts of either are
    /// not in.
    pub fn contrast(&self, a: &MuscleKey, b: &MuscleKey) -> Option<Contrast> {
        let pair = (a.clone(), b.clone());
        let known = || self.contrasts.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(contrast) = known().get(&pair) {
            return Some(contrast.clone());
        }
        let contrast = self.side_by_side(a, b)?;
        let mut known = known();
        if known.len() >= KEPT {
            known.clear();
        }
        known.insert(pair, contrast.clone());
        Some(contrast)
    }

    fn side_by_side(&self, a: &MuscleKey, b: &MuscleKey) -> Option<Contrast> {
        let (first, second) = (self.taught(a)?, self.taught(b)?);
        let mut contrast = contrast(&self.vocabulary, self.list.level, &first, &second);
        for fact in &self.words.facts {
            for difference in contrast.apart.iter_mut().filter(|d| d.aspect == aspect(fact.about)) {
                if fact.muscle == *a {
                    difference.first.clone_from(&fact.wording);
                }
                if fact.muscle == *b {
                    difference.second.clone_from(&fact.wording);
                }
            }
        }
        contrast.apart.extend(set_apart(&self.atlas, &self.vocabulary, &first, &second));
        Some(contrast)
    }

    /// Every sentence true of a muscle that this course teaches, by kind, then text; also those
    /// that name it and so are never told as clues. Empty if its facts are not in.
    pub fn statements(&self, muscle: &MuscleKey) -> Vec<Clue> {
        self.said(muscle).into_iter().map(|statement| statement.clue).collect()
    }

    /// Every statement on a muscle that this course teaches.
    pub(crate) fn said(&self, muscle: &MuscleKey) -> Vec<Statement> {
        let taught = self.taught(muscle);
        let said = taught.map(|taught| statements(&self.vocabulary, &taught)).unwrap_or_default();
        reworded(said, muscle, &self.words.facts)
    }

    /// What the course adds in words of its own.
    pub(crate) fn words(&self) -> &CourseWords {
        &self.words
    }

    /// A muscle with what this course teaches of it alone.
    pub(crate) fn taught(&self, muscle: &MuscleKey) -> Option<Muscle> {
        let MuscleList { level, hide, .. } = &self.list;
        Some(taught(&self.vocabulary, self.muscles.get(muscle)?, *level, hide))
    }
}

/// A muscle with the forms of one source told, where it has them and the main form has not. What
/// was told before becomes a variant, so that it still counts.
fn preferring(muscle: &Muscle, source: Option<&SourceKey>) -> Muscle {
    let mut muscle = muscle.clone();
    let Some(source) = source else { return muscle };
    for attachment in muscle.origins.iter_mut().chain(&mut muscle.insertions) {
        if attachment.sources.contains(source) {
            continue;
        }
        if let Some(at) = attachment.variants.iter().position(|v| v.sources.contains(source)) {
            let variant = &mut attachment.variants[at];
            std::mem::swap(&mut attachment.landmark, &mut variant.landmark);
            std::mem::swap(&mut attachment.span, &mut variant.span);
            std::mem::swap(&mut attachment.sources, &mut variant.sources);
        }
    }
    for supply in &mut muscle.innervation {
        if supply.sources.contains(source) {
            continue;
        }
        if let Some(at) = supply.variants.iter().position(|v| v.sources.contains(source)) {
            let variant = &mut supply.variants[at];
            std::mem::swap(&mut supply.roots, &mut variant.roots);
            std::mem::swap(&mut supply.sources, &mut variant.sources);
        }
    }
    muscle
}

/// The aspect of a contrast that a fact of the course's own is about.
fn aspect(about: OwnAbout) -> &'static str {
    match about {
        OwnAbout::Origin => "origin",
        OwnAbout::Insertion => "insertion",
        OwnAbout::Action => "action",
        OwnAbout::Nerve => "nerve",
    }
}

fn item(
    v: &Vocabulary,
    list: &MuscleList,
    words: &CourseWords,
    muscle: &Muscle,
    listed: &[Placed<'_>],
) -> Result<Item, CourseError> {
    let Muscle { key, name, latin, .. } = muscle;
    let said = statements(v, &taught(v, muscle, list.level, &list.hide));
    let said = reworded(said, key, &words.facts);
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
