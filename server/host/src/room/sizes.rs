//! Every message of a round stays within what a message may have, whatever its muscle.

use std::collections::BTreeMap;

use myonym_content::{Catalogue, Course, ListKey, MuscleKey};
use myonym_engine::timing::Sight;
use myonym_engine::{Answering, Command, Event, Input, Logged, Review, SCHEMA, Settings};
use myonym_insight::Tally;
use myonym_wire::limits::MESSAGE_BYTES;
use myonym_wire::{
    AttemptId, Millis, Pace, ReviewId, ReviewSettings, RoundNo, Seq, StudentId, Task, encode,
};
use uuid::Uuid;

use super::Out;
use super::picture::{Pictures, is_pictured};
use super::places::Places;
use super::translate::View;

/// Students of the class, each of whom says something else.
const STUDENTS: u128 = 12;

struct Trial<'a> {
    course: &'a Course,
    review: Review,
    pictures: Pictures,
    places: Places,
    names: BTreeMap<StudentId, String>,
    tally: Tally,
    largest: usize,
}

impl<'a> Trial<'a> {
    fn new(course: &'a Course, muscle: &MuscleKey, task: Task, beside: Option<&MuscleKey>) -> Self {
        let ReviewSettings { limit_ms, rule, spelling, section, adaptive, .. } =
            ReviewSettings::default();
        let (list, list_name) = (course.list().key.clone(), course.list().name.clone());
        let pace = Pace::Instructor;
        let settings =
            Settings { list, list_name, limit_ms, rule, spelling, pace, adaptive, section };
        let (review, plan, tasks) = (ReviewId(Uuid::nil()), vec![muscle.clone()], vec![task]);
        let beside = vec![beside.cloned()];
        let (schema, seed, why) = (SCHEMA, 0, Vec::new());
        let event = Event::Opened { schema, review, settings, seed, plan, tasks, beside, why };
        let review = Review::first(&Logged { seq: Seq(1), at: Millis(0), event }).unwrap();
        let students = (0..STUDENTS).map(|number| StudentId(Uuid::from_u128(number)));
        let names = students.map(|student| (student, "M".repeat(24))).collect();
        let (pictures, places, tally) = Default::default();
        Self { course, review, pictures, places, names, tally, largest: 0 }
    }

    fn put(&mut self, input: Input) {
        let mut events = self.review.decide(self.course, Millis(1), input).events;
        while !events.is_empty() {
            for event in events {
                let logged = Logged { seq: self.review.seq().next(), at: Millis(1), event };
                self.review.apply(&logged);
                self.places.follow(&logged.event);
                self.pictures.follow(self.course, &self.review);
                let told = self.view().tell(&logged);
                let size = |told: &super::audience::Told| match &told.out {
                    Out::Text(text) => text.text_len(),
                    Out::Close(..) => 0,
                };
                self.largest = told.iter().map(size).max().unwrap_or(0).max(self.largest);
            }
            events = self.review.decide(self.course, Millis(1), Input::Tick).events;
        }
        let moment = self.view().moment(Millis(1), Some(StudentId(Uuid::nil())));
        self.largest = encode(&moment).len().max(self.largest);
    }

    fn view(&self) -> View<'_> {
        let Self { course, review, pictures, places, names, tally, .. } = self;
        View { review, course, names, tally, pictures, places }
    }

    fn answer(&mut self, student: StudentId, text: String) {
        let (round, attempt) = (RoundNo(1), AttemptId(student.0));
        let (claimed, sight) = (Millis(0), Sight::default());
        self.put(Input::Answer(Answering { student, round, attempt, text, claimed, sight }));
    }
}

/// Those of a course that are most like a muscle, the likest first.
fn nearest(course: &Course, muscle: &MuscleKey) -> Vec<MuscleKey> {
    let others = course.items().iter().map(|item| &item.muscle).filter(|other| *other != muscle);
    let mut others: Vec<(f64, &MuscleKey)> =
        others.map(|other| (course.nearness(muscle, other), other)).collect();
    others.sort_by(|a, b| b.0.total_cmp(&a.0));
    others.into_iter().map(|(_, other)| other.clone()).collect()
}

/// The largest message of a round in which everyone says another of these muscles, or what it does.
fn largest(course: &Course, muscle: &MuscleKey, others: &[MuscleKey], task: Task) -> usize {
    let beside = others.first().filter(|_| task == Task::Contrast);
    let mut trial = Trial::new(course, muscle, task, beside);
    let students: Vec<StudentId> = trial.names.keys().copied().collect();
    for student in &students {
        trial.put(Input::Seat { student: *student, listed: true });
    }
    trial.put(Input::Command(Command::Start));
    for (student, other) in students.iter().zip(others) {
        let said = match task {
            Task::Name | Task::Picture => course.name_of(other),
            Task::Movement => myonym_engine::Makes::of(course, other).names(course).pop(),
            Task::Contrast => beside.and_then(|beside| course.name_of(beside)),
        };
        trial.answer(*student, said.unwrap_or_default());
    }
    trial.put(Input::Command(Command::CloseRound));
    trial.put(Input::Command(Command::Reveal));
    assert!(!trial.review.rounds().is_empty(), "{muscle} was not revealed");
    trial.largest
}

#[test]
fn every_message_of_every_round_is_small_enough() {
    let catalogue = Catalogue::bundled();
    let course = Course::new(catalogue, catalogue.list(&ListKey::new("full")).unwrap()).unwrap();
    let mut most = 0;
    for item in course.items() {
        let muscle = &item.muscle;
        let others = nearest(&course, muscle);
        for task in [Task::Name, Task::Picture, Task::Movement, Task::Contrast] {
            if task != Task::Picture || is_pictured(&course, muscle) {
                let size = largest(&course, muscle, &others, task);
                assert!(size <= MESSAGE_BYTES, "{muscle} {task:?}: {size} bytes");
                most = most.max(size);
            }
        }
    }
    // A reveal with two pictures is among them.
    assert!(most > 6_000, "the largest had {most} bytes");
}
