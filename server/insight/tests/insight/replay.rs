//! A tally against the engine: both are folds of the same log and must agree.

use std::collections::BTreeMap;

use myonym_content::{Catalogue, Course, ListKey};
use myonym_engine::timing::Sight;
use myonym_engine::{Answering, Command, Input, Logged, Review, open};
use myonym_insight::Tally;
use myonym_wire::{AttemptId, Millis, ReviewId, ReviewSettings, RoundNo, Seq, StudentId, Verdict};

struct Room {
    course: Course,
    review: Review,
    log: Vec<Logged>,
    now: u64,
}

impl Room {
    fn new() -> Self {
        let catalogue = Catalogue::bundled();
        let list = catalogue.list(&ListKey::new("shoulder")).unwrap();
        let course = Course::new(catalogue, list).unwrap();
        let id = ReviewId(uuid::Uuid::from_u128(1));
        let event = open(id, &course, &ReviewSettings::default(), 7, |_| false).unwrap();
        let first = Logged { seq: Seq(1), at: Millis(0), event };
        let review = Review::first(&first).unwrap();
        Self { course, review, log: vec![first], now: 0 }
    }

    fn put(&mut self, input: Input) {
        self.now += 1_000;
        let mut decision = self.review.decide(&self.course, Millis(self.now), input);
        while !decision.events.is_empty() {
            for event in decision.events {
                let seq = self.review.seq().next();
                let logged = Logged { seq, at: Millis(self.now), event };
                self.review.apply(&logged);
                self.log.push(logged);
            }
            decision = self.review.decide(&self.course, Millis(self.now), Input::Tick);
        }
    }

    fn answer(&mut self, round: u16, student: u128, text: &str) {
        self.put(Input::Answer(Answering {
            student: StudentId(uuid::Uuid::from_u128(student)),
            round: RoundNo(round),
            attempt: AttemptId(uuid::Uuid::from_u128(student)),
            text: text.to_owned(),
            claimed: Millis(3_000),
            sight: Sight::default(),
        }));
    }
}

/// Five rounds: one student is always right, one always says deltoid, one mumbles, one has left
/// after the first round; the third round is skipped.
fn review() -> Room {
    let mut room = Room::new();
    let student = |number| StudentId(uuid::Uuid::from_u128(number));
    for number in 1..=4 {
        room.put(Input::Seat { student: student(number), listed: true });
    }
    let plan: Vec<String> = (room.review.plan().iter())
        .map(|planned| room.course.name_of(&planned.muscle).unwrap())
        .collect();
    room.put(Input::Command(Command::Start));
    for round in 1..=5u16 {
        room.answer(round, 1, &plan[usize::from(round) - 1]);
        room.answer(round, 2, "deltoid");
        room.answer(round, 3, "teres");
        if round == 3 {
            room.put(Input::Command(Command::Skip));
        } else {
            room.put(Input::Command(Command::CloseRound));
            room.put(Input::Command(Command::Reveal));
        }
        if round == 1 {
            room.put(Input::Away { student: student(4), left: true });
        }
        room.put(Input::Command(Command::Next));
    }
    room.put(Input::Command(Command::End));
    room
}

#[test]
fn the_tally_agrees_with_the_rounds_of_the_engine() {
    let room = review();
    let mut tally = Tally::default();
    room.log.iter().for_each(|logged| tally.add(logged));

    let mut expected = BTreeMap::new();
    for record in room.review.rounds() {
        let rule = room.review.settings().rule;
        let results = (record.answers.keys().chain(&record.silent))
            .filter_map(|student| record.result(*student, rule));
        let verdicts: Vec<Verdict> = results.map(|(verdict, _)| verdict).collect();
        let of = |kind| verdicts.iter().filter(|verdict| **verdict == kind).count();
        let counts = [of(Verdict::Right), of(Verdict::Near), of(Verdict::Silent), verdicts.len()];
        expected.insert(record.name.clone(), counts.map(|count| u32::try_from(count).unwrap()));
    }
    let found: BTreeMap<_, _> = (tally.hardest().into_iter())
        .map(|hard| (hard.name, [hard.right, hard.near, hard.silent, hard.asked]))
        .collect();
    assert_eq!(found, expected);
    assert_eq!(found.len(), 4);
    // The fourth student is asked in the first round only.
    let asked: u32 = found.values().map(|counts| counts[3]).sum();
    assert_eq!(asked, 4 + 3 * 3);
}

#[test]
fn the_pairs_agree_with_the_contrasts_that_the_engine_showed() {
    let room = review();
    let mut tally = Tally::default();
    room.log.iter().for_each(|logged| tally.add(logged));
    let shown: BTreeMap<_, _> = (room.review.rounds().iter())
        .filter_map(|record| {
            let contrast = record.contrast.as_ref()?;
            Some(((record.muscle.clone(), contrast.said.clone()), contrast.count))
        })
        .collect();
    let pairs: BTreeMap<_, _> =
        (tally.pairs().into_iter()).map(|pair| ((pair.asked, pair.said), pair.count)).collect();
    assert_eq!(pairs, shown);
    assert!(!pairs.is_empty());
    let half: Vec<_> = tally.unclear();
    assert!(half.iter().all(|form| form.typed == "teres" && form.count == 1));
    assert_eq!(half.len(), 4);
}
