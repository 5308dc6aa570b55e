//! Students taken out of a log: nothing of them is left, and nothing of anyone else is lost.

use std::collections::BTreeSet;

use myonym_engine::{Event, Logged, Review, forget, standings, whose};
use myonym_wire::StudentId;
use proptest::prelude::*;

use crate::acts::{plans, run};
use crate::room::student;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn nothing_of_the_forgotten_is_left_and_nothing_of_others_is_lost(
        plan in plans(), who in prop::collection::btree_set(prop::sample::select(vec!['a', 'b', 'c']), 1..3),
    ) {
        let gone: BTreeSet<StudentId> = who.into_iter().map(student).collect();
        let whole = run(&plan).room;
        let mut log = whole.log.clone();
        forget(&mut log, &gone);
        let text = serde_json::to_string(&log).expect("JSON");
        for student in &gone {
            prop_assert!(!text.contains(&student.to_string()), "{student} is still named");
        }
        prop_assert!(log.is_sorted_by_key(|logged| logged.seq));
        prop_assert_eq!(log.len(), whole.log.len());
        let left = Review::replay(&log).expect("it replays");
        check_others(&whole.review, &left, &gone);
        check_kept(&whole.log, &log, &gone);
        let mut twice = log.clone();
        forget(&mut twice, &gone);
        prop_assert_eq!(twice, log);
    }
}

/// Everyone else has the seat, the answers, the silences and the points of before.
fn check_others(whole: &Review, left: &Review, gone: &BTreeSet<StudentId>) {
    let others: Vec<_> = whole.seats().iter().filter(|(who, _)| !gone.contains(*who)).collect();
    assert_eq!(left.seats().iter().collect::<Vec<_>>(), others);
    assert_eq!(left.rounds().len(), whole.rounds().len());
    for (left, whole) in left.rounds().iter().zip(whole.rounds()) {
        let answers = whole.answers.iter().filter(|(who, _)| !gone.contains(*who));
        assert_eq!(left.answers.iter().collect::<Vec<_>>(), answers.collect::<Vec<_>>());
        let silent: Vec<_> = whole.silent.iter().filter(|who| !gone.contains(*who)).collect();
        assert_eq!(left.silent.iter().collect::<Vec<_>>(), silent);
        // A choice between two is set side by side whoever chose what.
        if !whole.offered.is_empty() {
            assert_eq!(left.contrast.is_some(), whole.contrast.is_some());
        }
        // What is left of a contrast was said by someone who is left.
        if let Some(shown) = &left.contrast {
            let said = |answer: &&_| {
                let answer: &myonym_engine::Answer = answer;
                answer.said.as_ref() == Some(&shown.said)
            };
            assert_eq!(left.answers.values().filter(said).count(), shown.count as usize);
        }
    }
    let places = |review: &Review| -> Vec<StudentId> {
        let rows = standings(review).into_iter().map(|row| row.student);
        rows.filter(|student| !gone.contains(student)).collect()
    };
    assert_eq!(places(left), places(whole));
}

/// Events of nobody and of others are as they were.
fn check_kept(whole: &[Logged], left: &[Logged], gone: &BTreeSet<StudentId>) {
    for (before, after) in whole.iter().zip(left) {
        match whose(&before.event) {
            Some(student) if gone.contains(&student) => {
                assert_eq!(after.event, Event::Forgotten {});
                assert!(after.at <= before.at);
            }
            Some(_) => assert_eq!(after, before),
            None => assert_eq!((after.seq, after.at), (before.seq, before.at)),
        }
    }
}
