//! What a round asks for, and with which clues.

use myonym_content::course::Item;
use myonym_content::{Clue, ClueKind, Course, MuscleKey};
use myonym_wire::Task;
use rand::rngs::ChaCha8Rng;
use rand::{RngExt as _, SeedableRng as _};

use crate::event::Offered;
use crate::planned::Planned;

/// What a round asks for as it opens.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Asked {
    pub(crate) task: Task,
    pub(crate) clues: Vec<Clue>,
    /// The two to choose between, or none.
    pub(crate) offered: Vec<Offered>,
}

/// A planned round as it can be asked: one that cannot gives way to the name. A contrast without
/// another muscle is given the nearest of the list that a clue tells from it.
pub(crate) fn possible(
    course: &Course,
    planned: Planned,
    is_pictured: impl Fn(&MuscleKey) -> bool,
) -> Planned {
    let Planned { muscle, task, beside } = planned;
    let beside = match task {
        Task::Contrast => beside.or_else(|| neighbour(course, &muscle)),
        Task::Name | Task::Picture | Task::Movement => None,
    };
    let can = match task {
        Task::Name => true,
        Task::Picture => is_pictured(&muscle),
        Task::Movement => can_predict(course, &muscle),
        Task::Contrast => {
            let apart = |other| !course.clues_beside(&muscle, other).is_empty();
            beside.as_ref().is_some_and(apart)
        }
    };
    if can { Planned { muscle, task, beside } } else { Planned::name(muscle) }
}

/// Whether a movement of a muscle can be asked for: its course teaches both ends and an action.
fn can_predict(course: &Course, muscle: &MuscleKey) -> bool {
    !course.taught_movements(muscle).is_empty() && course.attachments(muscle).is_some()
}

/// The muscle of the list that is most like this one, of those that a clue tells from it.
fn neighbour(course: &Course, muscle: &MuscleKey) -> Option<MuscleKey> {
    let others = course.items().iter().map(|item| &item.muscle).filter(|other| *other != muscle);
    let mut others: Vec<(f64, &MuscleKey)> =
        others.map(|other| (course.nearness(muscle, other), other)).collect();
    others.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(b.1)));
    let apart = |other: &&MuscleKey| !course.clues_beside(muscle, other).is_empty();
    others.into_iter().map(|(_, other)| other).find(apart).cloned()
}

/// What a round on a muscle of the list asks for. What its course teaches no more (the list was
/// changed since it was planned) gives way to the name. `draw` decides which of two names stands
/// first.
pub(crate) fn asked(course: &Course, item: &Item, planned: &Planned, draw: u64) -> Asked {
    let asks = |task, clues| Asked { task, clues, offered: Vec::new() };
    let attachments = || course.attachments(&item.muscle);
    let by_name = || {
        let clues = item.clues.iter().map(|ordered| ordered.clue.clone());
        asks(Task::Name, clues.collect())
    };
    match planned.task {
        Task::Picture => asks(Task::Picture, vec![in_picture()]),
        Task::Movement if can_predict(course, &item.muscle) => {
            asks(Task::Movement, attachments().into_iter().collect())
        }
        Task::Contrast => {
            let other = planned.beside.as_ref();
            other.and_then(|other| contrast(course, item, other, draw)).unwrap_or_else(by_name)
        }
        Task::Name | Task::Movement => by_name(),
    }
}

/// A choice between a muscle and another, unless no clue tells them apart.
fn contrast(course: &Course, item: &Item, other: &MuscleKey, draw: u64) -> Option<Asked> {
    let clues = course.clues_beside(&item.muscle, other);
    let name = course.name_of(other).filter(|_| !clues.is_empty())?;
    let mut offered = vec![
        Offered { muscle: item.muscle.clone(), name: item.name.clone() },
        Offered { muscle: other.clone(), name },
    ];
    if ChaCha8Rng::seed_from_u64(draw).random_bool(0.5) {
        offered.reverse();
    }
    Some(Asked { task: Task::Contrast, clues, offered })
}

/// The clue of a picture; whoever shows it draws the picture.
fn in_picture() -> Clue {
    Clue { kind: ClueKind::Picture, text: "It is the muscle in the picture.".to_owned() }
}
