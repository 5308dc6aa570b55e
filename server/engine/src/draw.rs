//! Opening a review: drawing the order of its rounds.

use std::fmt;

use myonym_content::{Course, MuscleKey};
use myonym_wire::{ReviewId, ReviewSettings};
use rand::rngs::ChaCha8Rng;
use rand::seq::SliceRandom;
use rand::{RngExt as _, SeedableRng as _};

use crate::event::{Event, SCHEMA, Settings};

/// Why a review cannot open with these settings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OpenError {
    /// The time limit is not from 1 s to 600 s.
    Limit(u32),
    /// More than 500 rounds.
    Rounds(u16),
}

impl fmt::Display for OpenError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Limit(ms) => write!(f, "a time limit of {ms} ms is not from 1000 to 600000"),
            Self::Rounds(n) => write!(f, "{n} rounds are more than 500"),
        }
    }
}

impl std::error::Error for OpenError {}

/// The first event of a review of `course`.
///
/// The muscles come in a random order drawn from `seed`; where there are more rounds than muscles
/// the list is shuffled again, and no muscle comes twice in a row (if there are two or more).
pub fn open(
    review: ReviewId,
    course: &Course,
    settings: &ReviewSettings,
    seed: u64,
) -> Result<Event, OpenError> {
    if !(1_000..=600_000).contains(&settings.limit_ms) {
        return Err(OpenError::Limit(settings.limit_ms));
    }
    if settings.rounds > 500 {
        return Err(OpenError::Rounds(settings.rounds));
    }
    let list = course.list();
    Ok(Event::Opened {
        schema: SCHEMA,
        review,
        settings: Settings {
            list: list.key.clone(),
            list_name: list.name.clone(),
            limit_ms: settings.limit_ms,
            rule: settings.rule,
            spelling: settings.spelling,
            pace: settings.pace,
        },
        seed,
        plan: draw(course, settings.rounds, seed),
    })
}

fn draw(course: &Course, rounds: u16, seed: u64) -> Vec<MuscleKey> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut muscles: Vec<MuscleKey> = course.items().iter().map(|i| i.muscle.clone()).collect();
    let rounds = if rounds == 0 { muscles.len() } else { usize::from(rounds) };
    let mut plan: Vec<MuscleKey> = Vec::with_capacity(rounds);
    while plan.len() < rounds {
        muscles.shuffle(&mut random);
        if muscles.len() > 1 && plan.last() == muscles.first() {
            let other = random.random_range(1..muscles.len());
            muscles.swap(0, other);
        }
        plan.extend(muscles.iter().take(rounds - plan.len()).cloned());
    }
    plan
}
