//! Opening a review: what may be asked for, and the order that is drawn.

use std::collections::BTreeMap;

use myonym_content::{Course, MuscleKey};
use myonym_engine::{Event, OpenError, SCHEMA, open};
use myonym_wire::{Pace, ReviewId, ReviewSettings, ScoreRule, Spelling};
use proptest::prelude::*;
use uuid::Uuid;

use crate::room::{FOUR, ONE, SHOULDER};

#[test]
fn what_a_review_opens_with() {
    let settings = ReviewSettings {
        list: "shoulder".to_owned(),
        rounds: 3,
        limit_ms: 30_000,
        rule: ScoreRule::SignedResidualTime,
        spelling: Spelling::Strict,
        pace: Pace::Automatic { reveal_ms: 8_000 },
    };
    let event = open(ReviewId(Uuid::from_u128(7)), &SHOULDER, &settings, 42).unwrap();
    let Event::Opened { schema, review, settings: opened, seed, plan } = event else {
        panic!("not an opening: {event:?}");
    };
    assert_eq!((schema, review, seed), (SCHEMA, ReviewId(Uuid::from_u128(7)), 42));
    assert_eq!(
        (opened.list.as_str(), opened.list_name),
        ("shoulder", SHOULDER.list().name.clone())
    );
    assert_eq!((opened.limit_ms, opened.rule), (30_000, ScoreRule::SignedResidualTime));
    assert_eq!((opened.spelling, opened.pace), (Spelling::Strict, settings.pace));
    assert_eq!(plan.len(), 3);
}

#[test]
fn what_may_not_be_asked_for() {
    let check = |limit_ms, rounds, expected: Option<OpenError>| {
        let settings = ReviewSettings { limit_ms, rounds, ..ReviewSettings::default() };
        let found = open(ReviewId(Uuid::from_u128(1)), &FOUR, &settings, 1).err();
        assert_eq!(found, expected, "{limit_ms} ms, {rounds} rounds");
    };
    check(1_000, 0, None);
    check(600_000, 500, None);
    check(999, 0, Some(OpenError::Limit(999)));
    check(600_001, 0, Some(OpenError::Limit(600_001)));
    check(45_000, 501, Some(OpenError::Rounds(501)));
    assert_eq!(OpenError::Limit(9).to_string(), "a time limit of 9 ms is not from 1000 to 600000");
    assert_eq!(OpenError::Rounds(501).to_string(), "501 rounds are more than 500");
}

#[test]
fn a_muscle_alone_comes_every_time() {
    assert_eq!(plan(&ONE, 3, 1), vec![MuscleKey::new("deltoid"); 3]);
}

#[test]
fn the_seed_decides_the_order() {
    let plans: Vec<_> = (0..20).map(|seed| plan(&SHOULDER, 0, seed)).collect();
    assert!(plans.iter().any(|other| *other != plans[0]), "every seed draws the same order");
    assert_eq!(plan(&SHOULDER, 0, 7), plans[7]);
}

proptest! {
    /// No muscle twice in a row, none asked twice more often than another, all known.
    #[test]
    fn rounds_go_evenly_round_the_list(seed: u64, rounds in 0..60_u16) {
        for course in [&*FOUR, &*SHOULDER] {
            let plan = plan(course, rounds, seed);
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

fn plan(course: &Course, rounds: u16, seed: u64) -> Vec<MuscleKey> {
    let settings = ReviewSettings { rounds, ..ReviewSettings::default() };
    match open(ReviewId(Uuid::from_u128(1)), course, &settings, seed) {
        Ok(Event::Opened { plan, .. }) => plan,
        other => panic!("not an opening: {other:?}"),
    }
}
