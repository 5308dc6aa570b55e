//! What a muscle may be asked about beside its name.

use crate::clue::{Clue, ClueKind};
use crate::course::Course;
use crate::model::{Action, End, MuscleKey, Role};
use crate::movement_name::{MovementResolution, NamedMovement};
use crate::own_list::OwnAbout;
use crate::statement::{sentence, verb};
use crate::words::{listed, the_attachments};

impl Course {
    /// Where a muscle arises and inserts, all that the course teaches of it: a sentence for each end
    /// in one clue. `None` unless it teaches both ends.
    ///
    /// The muscle is not named, though a landmark may have its name in it (deltoid tuberosity): the
    /// name is not what is asked.
    pub fn attachments(&self, muscle: &MuscleKey) -> Option<Clue> {
        let said = [End::Origin, End::Insertion].map(|end| self.end(muscle, end));
        let [Some(origins), Some(insertions)] = said else { return None };
        Some(Clue { kind: ClueKind::Attachments, text: format!("{origins} {insertions}") })
    }

    fn end(&self, muscle: &MuscleKey, end: End) -> Option<String> {
        let about = match end {
            End::Origin => OwnAbout::Origin,
            End::Insertion => OwnAbout::Insertion,
        };
        let mut places: Vec<String> = self.own_wordings(muscle, about).collect();
        if places.is_empty() {
            places = the_attachments(self.vocabulary(), &self.taught(muscle)?, end);
        }
        let said = format!("it {} {}", verb(end, "", false), listed(&places));
        (!places.is_empty()).then(|| sentence(&said))
    }

    /// The actions of a muscle that the course teaches, without those that only steady a joint: to
    /// steady is not to move.
    pub fn taught_movements(&self, muscle: &MuscleKey) -> Vec<Action> {
        let mut actions = self.taught(muscle).map(|taught| taught.actions).unwrap_or_default();
        actions.retain(|action| action.role != Role::Stabilises);
        actions
    }

    /// The actions of a muscle in the data, whatever the course teaches of them, without those that
    /// only steady a joint.
    pub fn all_movements(&self, muscle: &MuscleKey) -> Vec<Action> {
        let mut actions = self.muscle(muscle).map(|it| it.actions.clone()).unwrap_or_default();
        actions.retain(|action| action.role != Role::Stabilises);
        actions
    }

    /// The movements that the course's own wording of a muscle's action names, where it names one.
    pub fn own_movements(&self, muscle: &MuscleKey) -> Vec<NamedMovement> {
        let exact = |wording: String| match self.resolve_movement(&wording) {
            MovementResolution::Exact { movement } => Some(movement),
            MovementResolution::Misspelt { .. }
            | MovementResolution::WhichOne { .. }
            | MovementResolution::Unknown { .. }
            | MovementResolution::Empty => None,
        };
        self.own_wordings(muscle, OwnAbout::Action).filter_map(exact).collect()
    }

    fn own_wordings(&self, muscle: &MuscleKey, about: OwnAbout) -> impl Iterator<Item = String> {
        let own = self.words().facts.iter();
        let own = own.filter(move |fact| fact.muscle == *muscle && fact.about == about);
        own.map(|fact| fact.wording.clone())
    }
}
