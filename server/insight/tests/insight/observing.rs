//! Reading a term in parts comes to the same as reading it from end to end.

use myonym_content::ListKey;
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
}

fn observer(part: &[Held]) -> Observer {
    let mut observer = Observer::default();
    for Held { number, log } in part {
        let tag = ReviewTag {
            review: ReviewId(uuid::Uuid::from_u128(*number)),
            section: number.is_multiple_of(3).then(|| "Lab A".to_owned()),
            opened_s: i64::try_from(*number).unwrap() * 1_000,
            list: ListKey::new("shoulder"),
            adaptive: number.is_multiple_of(2),
        };
        let seats = (0..6_u8).map(|student| Sitting {
            student: StudentId(uuid::Uuid::from_u128((number << 32) + u128::from(student))),
            person: student.is_multiple_of(2).then_some([student; 32]),
            group: Some(format!("Bench {}", student / 2)),
        });
        observer.begin(tag, seats);
        log.events.iter().for_each(|logged| observer.event(&logged.event));
    }
    observer
}

fn tally(part: &[Held]) -> Tally {
    let mut tally = Tally::default();
    part.iter().flat_map(|held| &held.log.events).for_each(|logged| tally.add(logged));
    tally
}

fn whole(part: &[Held]) -> Observations {
    observer(part).finish()
}

fn terms() -> impl Strategy<Value = Vec<Held>> {
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
    let review = prop::collection::vec(round, 0..4);
    prop::collection::vec(review, 0..5).prop_map(|reviews| {
        let held = |(number, rounds): (u128, Vec<(&str, Task, Vec<Turn>, End)>)| Held {
            number,
            log: rounds.into_iter().fold(Log::open(number), |log, (muscle, task, turns, end)| {
                let log = match task {
                    Task::Contrast => log.offering("teres major"),
                    Task::Name | Task::Picture | Task::Movement => log.asking(task),
                };
                log.round_with(muscle, &turns, &[], end)
            }),
        };
        (1..).zip(reviews).map(held).collect()
    })
}

proptest! {
    #[test]
    fn parts_come_to_the_whole(term in terms(), cut in 0..5_usize) {
        let (first, second) = term.split_at(cut.min(term.len()));
        let mut read = observer(first);
        read.absorb(observer(second));
        prop_assert_eq!(read.finish(), whole(&term));
        let mut counted = tally(first);
        counted.absorb(tally(second));
        prop_assert_eq!(counted, tally(&term));
    }
}

#[test]
fn who_comes_back_is_one_person() {
    let turns = [Turn::Right(8_000); 6];
    let held = |number| Held { number, log: Log::open(number).round("deltoid", &turns) };
    assert_eq!(whole(&[held(1)]).person_count(), 6);
    // Three are known again and three are new.
    assert_eq!(whole(&[held(1), held(2)]).person_count(), 9);
}
