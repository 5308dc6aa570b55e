//! Reading a term in parts comes to the same as reading it from end to end.

use myonym_content::ListKey;
use myonym_engine::forget;
use myonym_insight::Tally;
use myonym_insight::observe::{Observations, Observer, ReviewTag, Sitting};
use myonym_wire::{ReviewId, StudentId, Task};
use proptest::prelude::*;
use proptest::sample::select;

use crate::class::{End, Log, Turn};

/// A review with who sat in it: students of an even number are known again in every review.
#[derive(Debug, Clone)]
struct Held {
    number: u128,
    log: Log,
    /// Who has no seat any more.
    gone: Option<u8>,
}

fn observer(part: &[Held]) -> Observer {
    let mut observer = Observer::default();
    for Held { number, log, gone } in part {
        let tag = ReviewTag {
            review: ReviewId(uuid::Uuid::from_u128(*number)),
            section: number.is_multiple_of(3).then(|| "Lab A".to_owned()),
            opened_s: i64::try_from(*number).unwrap() * 1_000,
            list: ListKey::new("shoulder"),
            adaptive: number.is_multiple_of(2),
        };
        let seats = (0..6_u8).filter(|student| *gone != Some(*student)).map(|student| Sitting {
            student: student_of(*number, student),
            person: student.is_multiple_of(2).then_some([student; 32]),
            group: Some(format!("Bench {}", student / 2)),
        });
        observer.begin(tag, seats);
        log.events.iter().for_each(|logged| observer.event(&logged.event));
    }
    observer
}

fn student_of(review: u128, student: u8) -> StudentId {
    StudentId(uuid::Uuid::from_u128((review << 32) + u128::from(student)))
}

fn tally(part: &[Held]) -> Tally {
    let mut tally = Tally::default();
    part.iter().flat_map(|held| &held.log.events).for_each(|logged| tally.add(logged));
    tally
}

fn whole(part: &[Held]) -> Observations {
    observer(part).finish()
}

type Rounds = Vec<(&'static str, Task, Vec<Turn>, End)>;

/// What happened in each review of a term.
fn terms() -> impl Strategy<Value = Vec<Rounds>> {
    let muscle = select(vec!["teres minor", "teres major", "deltoid", "infraspinatus"]);
    let turn = select(vec![
        Turn::Right(8_000),
        Turn::Misspelt("teres miner"),
        Turn::Said("teres major", 0.125),
        Turn::Said("deltoid", 0.0),
        Turn::NoSuch("gluteus"),
        Turn::Silent,
        Turn::Absent,
    ]);
    let task = select(vec![Task::Name, Task::Picture, Task::Movement, Task::Contrast]);
    let end = select(vec![End::Revealed, End::Revealed, End::SkippedClosed, End::Open]);
    // Eight, so that some sit on a seat that was not announced.
    let round = (muscle, task, prop::collection::vec(turn, 8), end);
    prop::collection::vec(prop::collection::vec(round, 0..4), 0..5)
}

fn held(term: &[Rounds]) -> Vec<Held> {
    let held = |(number, rounds): (u128, &Rounds)| Held {
        number,
        log: rounds.iter().fold(Log::open(number), |log, (muscle, task, turns, end)| {
            let log = match task {
                Task::Contrast => log.offering("teres major"),
                Task::Name | Task::Picture | Task::Movement => log.asking(*task),
            };
            log.round_with(muscle, turns, &[], *end)
        }),
        gone: None,
    };
    (1..).zip(term).map(held).collect()
}

proptest! {
    #[test]
    fn parts_come_to_the_whole(term in terms(), cut in 0..5_usize) {
        let term = held(&term);
        let (first, second) = term.split_at(cut.min(term.len()));
        let mut read = observer(first);
        read.absorb(observer(second));
        prop_assert_eq!(read.finish(), whole(&term));
        let mut counted = tally(first);
        counted.absorb(tally(second));
        prop_assert_eq!(counted, tally(&term));
    }

    /// A student taken out of every log leaves the table that would be if the student had never
    /// been there.
    #[test]
    fn who_is_forgotten_was_never_there(term in terms(), gone in 0..6_u8) {
        let mut forgotten = held(&term);
        for held in &mut forgotten {
            let who = [student_of(held.number, gone)].into();
            forget(&mut held.log.events, &who);
            held.gone = Some(gone);
        }
        let mut never = term.clone();
        for (_, _, turns, _) in never.iter_mut().flatten() {
            turns[usize::from(gone)] = Turn::Absent;
        }
        let mut never = held(&never);
        for held in &mut never {
            held.gone = Some(gone);
        }
        prop_assert_eq!(whole(&forgotten), whole(&never));
        prop_assert_eq!(tally(&forgotten), tally(&never));
    }
}

#[test]
fn who_comes_back_is_one_person() {
    let turns = [Turn::Right(8_000); 6];
    let held = |number| {
        let log = Log::open(number).round("deltoid", &turns);
        Held { number, log, gone: None }
    };
    assert_eq!(whole(&[held(1)]).person_count(), 6);
    // Three are known again and three are new.
    assert_eq!(whole(&[held(1), held(2)]).person_count(), 9);
}
