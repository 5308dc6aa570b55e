//! What a round asks for, and with which clues.

use myonym_content::course::Item;
use myonym_content::{Clue, ClueKind, Course, MuscleKey};
use myonym_wire::Task;

/// Whether a movement of a muscle can be asked for: its course teaches both ends and an action.
pub(crate) fn can_predict(course: &Course, muscle: &MuscleKey) -> bool {
    !course.taught_movements(muscle).is_empty() && course.attachments(muscle).is_some()
}

/// What a round on a muscle asks for, where `task` was dealt, and its clues. A movement that the
/// course teaches no more (the list was changed since) gives way to the name.
pub(crate) fn asked(course: &Course, item: &Item, task: Task) -> (Task, Vec<Clue>) {
    let attachments = || course.attachments(&item.muscle);
    match task {
        Task::Picture => (task, vec![in_picture()]),
        Task::Movement if can_predict(course, &item.muscle) => {
            (task, attachments().into_iter().collect())
        }
        Task::Name | Task::Movement => {
            let clues = item.clues.iter().map(|ordered| ordered.clue.clone());
            (Task::Name, clues.collect())
        }
    }
}

/// The clue of a picture; whoever shows it draws the picture.
fn in_picture() -> Clue {
    Clue { kind: ClueKind::Picture, text: "It is the muscle in the picture.".to_owned() }
}
