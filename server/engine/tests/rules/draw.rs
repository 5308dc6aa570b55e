//! Opening a review: what may be asked for, and the order that is drawn.

use std::collections::BTreeMap;

use myonym_content::{Course, MuscleKey};
use myonym_engine::{Event, OpenError, SCHEMA, open};
use myonym_wire::{Pace, ReviewId, ReviewSettings, ScoreRule, Spelling, Task};
use proptest::prelude::*;
use uuid::Uuid;

use crate::room::{FOUR, ONE, SHOULDER};

#[test]
fn what_a_review_opens_with() {
    let settings = ReviewSettings {
        list: "shoulder".to_owned(),
        rounds: 3,
        limit_ms: 30_000,
        tasks: vec![Task::Movement, Task::Name],
        rule: ScoreRule::SignedResidualTime,
        spelling: Spelling::Strict,
        pace: Pace::Automatic { reveal_ms: 8_000 },
        adaptive: true,
        section: Some("Lab A".to_owned()),
    };
    let event = opened(&SHOULDER, &settings, 42).unwrap();
    let Event::Opened { schema, review, settings: opened, seed, plan, tasks, beside, why } = event
    else {
        panic!("not an opening: {event:?}");
    };
    assert_eq!((schema, review, seed), (SCHEMA, REVIEW, 42));
    assert_eq!(
        (opened.list.as_str(), opened.list_name),
        ("shoulder", SHOULDER.list().name.clone())
    );
    assert_eq!((opened.limit_ms, opened.rule), (30_000, ScoreRule::SignedResidualTime));
    assert_eq!((opened.spelling, opened.pace), (Spelling::Strict, settings.pace));
    assert_eq!((plan.len(), tasks.len(), beside.len(), why.len()), (3, 3, 0, 0));
    assert!(opened.adaptive);
    assert_eq!(opened.section.as_deref(), Some("Lab A"));
}

#[test]
fn what_may_not_be_asked_for() {
    let check = |limit_ms, rounds, expected: Option<OpenError>| {
        let settings = ReviewSettings { limit_ms, rounds, ..ReviewSettings::default() };
        let found = opened(&FOUR, &settings, 1).err();
        assert_eq!(found, expected, "{limit_ms} ms, {rounds} rounds");
    };
    check(1_000, 0, None);
    check(600_000, 500, None);
    check(999, 0, Some(OpenError::Limit(999)));
    check(600_001, 0, Some(OpenError::Limit(600_001)));
    check(45_000, 501, Some(OpenError::Rounds(501)));
    let nothing = ReviewSettings { tasks: Vec::new(), ..ReviewSettings::default() };
    assert_eq!(opened(&FOUR, &nothing, 1).err(), Some(OpenError::NoTask));
    assert_eq!(OpenError::NoTask.to_string(), "a review needs at least one task");
    assert_eq!(OpenError::Limit(9).to_string(), "a time limit of 9 ms is not from 1000 to 600000");
    assert_eq!(OpenError::Rounds(501).to_string(), "501 rounds are more than 500");
}

#[test]
fn a_muscle_alone_comes_every_time() {
    assert_eq!(names(&ONE, 3, 1), vec![MuscleKey::new("deltoid"); 3]);
}

#[test]
fn the_seed_decides_the_order() {
    let plans: Vec<_> = (0..20).map(|seed| names(&SHOULDER, 0, seed)).collect();
    assert!(plans.iter().any(|other| *other != plans[0]), "every seed draws the same order");
    assert_eq!(names(&SHOULDER, 0, 7), plans[7]);
}

/// The muscles of a review that asks for names are those that this seed drew before there was
/// anything else to ask for: written down then.
#[test]
fn the_draw_of_old_stands() {
    let drawn: Vec<String> = names(&FOUR, 6, 7).iter().map(ToString::to_string).collect();
    assert_eq!(drawn, OLD_DRAW);
}

proptest! {
    /// More tasks leave the muscles be; each task comes as often as any other, in turn, and gives way
    /// to the name where it cannot be.
    #[test]
    fn tasks_are_dealt_in_turn(seed: u64, rounds in 0..40_u16, which in 1..16_usize) {
        let tasks: Vec<Task> =
            ALL.into_iter().enumerate().filter(|(at, _)| which >> at & 1 == 1).map(|it| it.1).collect();
        let (plan, dealt) = drawn(&FOUR, rounds, &tasks, seed);
        prop_assert_eq!(&plan, &names(&FOUR, rounds, seed));
        prop_assert_eq!(dealt.len(), plan.len());
        let fits = |order: &[Task]| {
            let turns = plan.iter().zip(&dealt).zip(order.iter().cycle());
            turns.into_iter().all(|((muscle, dealt), turn)| {
                let none = *turn == Task::Picture && muscle.as_str() == "deltoid";
                *dealt == if none { Task::Name } else { *turn }
            })
        };
        prop_assert!(orders(&tasks).iter().any(|order| fits(order)), "{:?} {:?}", plan, dealt);
        let twice: Vec<Task> = tasks.iter().chain(&tasks).copied().collect();
        prop_assert_eq!(drawn(&FOUR, rounds, &twice, seed), (plan, dealt));
    }

    /// No muscle twice in a row, none asked twice more often than another, all known.
    #[test]
    fn rounds_go_evenly_round_the_list(seed: u64, rounds in 0..60_u16) {
        for course in [&*FOUR, &*SHOULDER] {
            let plan = names(course, rounds, seed);
            let muscles = course.items().len();
            let expected = if rounds == 0 { muscles } else { usize::from(rounds) };
            prop_assert_eq!(plan.len(), expected);
            prop_assert!(plan.windows(2).all(|two| two[0] != two[1]), "{:?}", plan);
            prop_assert!(plan.iter().all(|muscle| course.item(muscle).is_some()));
            let mut counts: BTreeMap<&MuscleKey, usize> = BTreeMap::new();
            for muscle in &plan {
                *counts.entry(muscle).or_default() += 1;
            }
            let most = counts.values().max().copied().unwrap_or_default();
            prop_assert!(most <= expected.div_ceil(muscles), "{:?}", counts);
        }
    }
}

/// All orders of a few tasks.
fn orders(tasks: &[Task]) -> Vec<Vec<Task>> {
    if tasks.is_empty() {
        return vec![Vec::new()];
    }
    let first = |task: &Task| {
        let others: Vec<Task> = tasks.iter().copied().filter(|other| other != task).collect();
        let after = orders(&others).into_iter();
        after.map(|rest| [vec![*task], rest].concat()).collect::<Vec<_>>()
    };
    tasks.iter().flat_map(first).collect()
}

fn names(course: &Course, rounds: u16, seed: u64) -> Vec<MuscleKey> {
    drawn(course, rounds, &[Task::Name], seed).0
}

/// The muscle and the task of each round.
fn drawn(course: &Course, rounds: u16, tasks: &[Task], seed: u64) -> (Vec<MuscleKey>, Vec<Task>) {
    let settings = ReviewSettings { rounds, tasks: tasks.to_vec(), ..ReviewSettings::default() };
    match opened(course, &settings, seed) {
        Ok(Event::Opened { plan, tasks, .. }) => (plan, tasks),
        other => panic!("not an opening: {other:?}"),
    }
}

/// A review in which there is a picture of every muscle but the deltoid.
fn opened(course: &Course, settings: &ReviewSettings, seed: u64) -> Result<Event, OpenError> {
    open(REVIEW, course, settings, seed, |muscle| muscle.as_str() != "deltoid")
}

const REVIEW: ReviewId = ReviewId(Uuid::from_u128(7));
const OLD_DRAW: [&str; 6] =
    ["deltoid", "teres-minor", "infraspinatus", "teres-major", "teres-minor", "infraspinatus"];
const ALL: [Task; 4] = [Task::Name, Task::Picture, Task::Movement, Task::Contrast];
