//! Pictures of the round at hand: each is drawn once for all reviews of a course, and kept for those
//! who come in later.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

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

/// What was drawn of a course's muscles, for all reviews of it: a picture takes milliseconds, in
/// which no room of the server goes on.
#[derive(Debug, Default)]
pub(crate) struct Gallery(Mutex<BTreeMap<Shows, Drawn>>);

type Drawn = Arc<[Picture]>;

/// What a gallery keeps at most; then it begins anew.
const KEPT: usize = 128;

#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Shows {
    /// A muscle, with nothing named.
    Clue(MuscleKey),
    /// A muscle with its labels, beside another if there is one.
    Reveal(MuscleKey, Option<MuscleKey>),
}

impl Gallery {
    /// Pictures that were drawn before, or are drawn now.
    fn show(&self, course: &Course, shows: Shows) -> Drawn {
        let drawn = || self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(pictures) = drawn().get(&shows) {
            return pictures.clone();
        }
        let pictures: Drawn = match &shows {
            Shows::Clue(muscle) => unlabelled(course, muscle).into_iter().collect(),
            Shows::Reveal(muscle, said) => labelled(course, muscle, said.as_ref()).into(),
        };
        let mut drawn = drawn();
        if drawn.len() >= KEPT {
            drawn.clear();
        }
        drawn.insert(shows, pictures.clone());
        pictures
    }
}

/// The pictures of the round at hand.
#[derive(Debug, Default)]
pub(super) struct Pictures {
    gallery: Arc<Gallery>,
    clue: Option<(RoundNo, Drawn)>,
    reveal: Option<(Shown, Drawn)>,
}

/// What the pictures of a reveal show: which round, and which muscle beside its own.
type Shown = (RoundNo, Option<MuscleKey>);

impl Pictures {
    /// None yet, of a gallery.
    pub(super) fn of(gallery: Arc<Gallery>) -> Self {
        Self { gallery, clue: None, reveal: None }
    }

    /// Takes what the review has come to from the gallery.
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
        if self.clue.as_ref().is_none_or(|(drawn, _)| *drawn != round) {
            self.clue = Some((round, self.gallery.show(course, Shows::Clue(muscle.clone()))));
        }
    }

    fn tell(&mut self, course: &Course, record: &RoundRecord) {
        let shown = shown(record);
        if self.reveal.as_ref().is_none_or(|(drawn, _)| *drawn != shown) {
            let of = Shows::Reveal(record.muscle.clone(), shown.1.clone());
            self.reveal = Some((shown, self.gallery.show(course, of)));
        }
    }

    /// The picture that a round asks about.
    pub(super) fn clue(&self, round: RoundNo) -> Option<&Picture> {
        self.clue.as_ref().filter(|(drawn, _)| *drawn == round)?.1.first()
    }

    /// The pictures of a reveal.
    pub(super) fn of_reveal(&self, record: &RoundRecord) -> &[Picture] {
        let kept = self.reveal.as_ref().filter(|(drawn, _)| *drawn == shown(record));
        kept.map(|(_, pictures)| &**pictures).unwrap_or_default()
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

#[cfg(test)]
mod tests {
    use myonym_content::{Catalogue, ListKey};

    use super::*;

    #[test]
    fn a_gallery_draws_each_picture_once_and_begins_anew_when_full() {
        let catalogue = Catalogue::bundled();
        let list = catalogue.list(&ListKey::new("full")).unwrap();
        let course = Course::new(catalogue, list).unwrap();
        let gallery = Gallery::default();
        let (minor, major) = (MuscleKey::new("teres-minor"), MuscleKey::new("teres-major"));
        let both = Shows::Reveal(minor.clone(), Some(major.clone()));
        let pictures = gallery.show(&course, both.clone());
        assert_eq!(*pictures, *labelled(&course, &minor, Some(&major)));
        assert!(Arc::ptr_eq(&pictures, &gallery.show(&course, both.clone())));
        let clue = gallery.show(&course, Shows::Clue(minor.clone()));
        assert_eq!(*clue, *unlabelled(&course, &minor).as_slice());
        for number in 0..KEPT {
            gallery.show(&course, Shows::Clue(MuscleKey::new(format!("unknown-{number}"))));
            assert!(gallery.0.lock().unwrap().len() <= KEPT);
        }
        let again = gallery.show(&course, both);
        assert!(!Arc::ptr_eq(&pictures, &again));
        assert_eq!(pictures, again);
    }
}
