//! What a told clue was about, and which muscles it ruled out.

use std::collections::{BTreeMap, BTreeSet};

use crate::catalogue::Catalogue;
use crate::clue::{Clue, ClueKind};
use crate::model::{Level, MuscleKey};
use crate::place::Placed;
use crate::statement::{statements, taught};

/// What a clue was about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cue {
    /// The kind of the clue.
    pub kind: ClueKind,
    /// What it names, such as `lateral rotation of the arm` or `lesser tubercle of the humerus`.
    pub about: Vec<String>,
    fits: BTreeSet<MuscleKey>,
}

impl Cue {
    /// Whether the clue is untrue of a muscle, so that nobody who took it in would name that one.
    pub fn rules_out(&self, muscle: &MuscleKey) -> bool {
        !self.fits.contains(muscle)
    }
}

/// The clues of a catalogue, looked up once each.
#[derive(Debug)]
pub struct Cues<'c> {
    catalogue: &'c Catalogue,
    placed: Vec<Placed<'c>>,
    known: BTreeMap<(MuscleKey, Clue), Option<Cue>>,
}

impl<'c> Cues<'c> {
    /// Of this catalogue.
    pub fn new(catalogue: &'c Catalogue) -> Self {
        let v = &catalogue.vocabulary;
        let placed = catalogue.muscles().map(|muscle| Placed::new(v, muscle)).collect();
        Self { catalogue, placed, known: BTreeMap::new() }
    }

    /// What a clue told of a muscle was about; `None` if its facts no longer say so, and for a
    /// course's own wording.
    pub fn cue(&mut self, asked: &MuscleKey, clue: &Clue) -> Option<&Cue> {
        let key = (asked.clone(), clue.clone());
        if !self.known.contains_key(&key) {
            let found = self.look_up(asked, clue);
            self.known.insert(key.clone(), found);
        }
        self.known.get(&key)?.as_ref()
    }

    fn look_up(&self, asked: &MuscleKey, clue: &Clue) -> Option<Cue> {
        let v = &self.catalogue.vocabulary;
        let muscle = self.catalogue.muscle(asked)?;
        let levels = [Level::Introductory, Level::Full];
        let said = levels.iter().flat_map(|level| statements(v, &taught(v, muscle, *level, &[])));
        let statement = said.into_iter().find(|statement| statement.clue == *clue)?;
        let fits: BTreeSet<MuscleKey> =
            statement.fits(v, &self.placed).into_iter().cloned().collect();
        let about = statement.about(v);
        (!fits.is_empty()).then_some(Cue { kind: clue.kind, about, fits })
    }
}
