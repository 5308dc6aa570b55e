//! Pictures of the round at hand: each is drawn once, and kept for those who come in later.

use myonym_content::{Course, MuscleKey};
use myonym_engine::{Phase, Review, RoundRecord};
use myonym_picture::{Labels, draw, draw_pair};
use myonym_wire::{Picture, RoundNo, Task};

/// Whether there is a picture of a muscle.
pub(crate) fn is_pictured(course: &Course, muscle: &MuscleKey) -> bool {
    !course.atlas().lines(muscle).is_empty()
}

/// A muscle as it is asked about, with nothing named.
pub(crate) fn unlabelled(course: &Course, muscle: &MuscleKey) -> Option<Picture> {
    draw(course.atlas(), course.vocabulary(), course.muscle(muscle)?, Labels::Hidden)
}

/// What was drawn for the round at hand.
#[derive(Debug, Default)]
pub(super) struct Pictures {
    clue: Option<(RoundNo, Picture)>,
    reveal: Option<(Shown, Vec<Picture>)>,
}

/// What the pictures of a reveal show: which round, and which muscle beside its own.
type Shown = (RoundNo, Option<MuscleKey>);

impl Pictures {
    /// Draws what the review has come to, unless it is drawn.
    pub(super) fn follow(&mut self, course: &Course, review: &Review) {
        match review.phase() {
            Phase::Open(round) if round.task == Task::Picture => {
                self.ask(course, round.round, &round.muscle);
            }
            Phase::Closed(record) if record.task == Task::Picture => {
                self.ask(course, record.round, &record.muscle);
            }
            Phase::Revealed => {
                if let Some(record) = review.rounds().last() {
                    self.tell(course, record);
                }
            }
            Phase::Open(_)
            | Phase::Closed(_)
            | Phase::Gathering
            | Phase::Skipped { .. }
            | Phase::Ended(_) => {}
        }
    }

    fn ask(&mut self, course: &Course, round: RoundNo, muscle: &MuscleKey) {
        if self.clue(round).is_none() {
            self.clue = unlabelled(course, muscle).map(|picture| (round, picture));
        }
    }

    fn tell(&mut self, course: &Course, record: &RoundRecord) {
        let shown = shown(record);
        if self.reveal.as_ref().is_none_or(|(drawn, _)| *drawn != shown) {
            let pictures = labelled(course, &record.muscle, shown.1.as_ref());
            self.reveal = Some((shown, pictures));
        }
    }

    /// The picture that a round asks about.
    pub(super) fn clue(&self, round: RoundNo) -> Option<&Picture> {
        self.clue.as_ref().filter(|(drawn, _)| *drawn == round).map(|(_, picture)| picture)
    }

    /// The pictures of a reveal.
    pub(super) fn of_reveal(&self, record: &RoundRecord) -> &[Picture] {
        let kept = self.reveal.as_ref().filter(|(drawn, _)| *drawn == shown(record));
        kept.map(|(_, pictures)| pictures.as_slice()).unwrap_or_default()
    }
}

fn shown(record: &RoundRecord) -> Shown {
    (record.round, record.contrast.as_ref().map(|contrast| contrast.said.clone()))
}

/// A muscle with its labels, beside another if there is a picture of that too.
fn labelled(course: &Course, muscle: &MuscleKey, said: Option<&MuscleKey>) -> Vec<Picture> {
    let (atlas, v) = (course.atlas(), course.vocabulary());
    let Some(own) = course.muscle(muscle) else { return Vec::new() };
    let other = said.and_then(|said| course.muscle(said));
    match other.and_then(|other| draw_pair(atlas, v, own, other)) {
        Some((first, second)) => vec![first, second],
        None => draw(atlas, v, own, Labels::Shown).into_iter().collect(),
    }
}
