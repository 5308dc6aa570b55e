//! Opening a review: drawing the order of its rounds, and dealing what each asks for.

use std::collections::BTreeSet;
use std::fmt;

use myonym_content::{Course, MuscleKey};
use myonym_wire::{ReviewId, ReviewSettings, Task};
use rand::rngs::ChaCha8Rng;
use rand::seq::SliceRandom;
use rand::{RngExt as _, SeedableRng as _};

use crate::event::{Event, SCHEMA, Settings};
use crate::task;

/// Why a review cannot open with these settings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OpenError {
    /// The time limit is not from 1 s to 600 s.
    Limit(u32),
    /// More than 500 rounds.
    Rounds(u16),
    /// Nothing to ask for.
    NoTask,
}

impl fmt::Display for OpenError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Limit(ms) => write!(f, "a time limit of {ms} ms is not from 1000 to 600000"),
            Self::Rounds(n) => write!(f, "{n} rounds are more than 500"),
            Self::NoTask => f.write_str("a review needs at least one task"),
        }
    }
}

impl std::error::Error for OpenError {}

/// The first event of a review of `course`.
///
/// The muscles come in a random order drawn from `seed`; where there are more rounds than muscles
/// the list is shuffled again, and no muscle comes twice in a row (if there are two or more). The
/// tasks are dealt in turn, in an order drawn after that, so that more tasks leave the muscles be. A
/// muscle that cannot be asked for in the way whose turn it is, is asked for by name; `is_pictured`
/// says of which there is a picture.
pub fn open(
    review: ReviewId,
    course: &Course,
    settings: &ReviewSettings,
    seed: u64,
    is_pictured: impl Fn(&MuscleKey) -> bool,
) -> Result<Event, OpenError> {
    if !(1_000..=600_000).contains(&settings.limit_ms) {
        return Err(OpenError::Limit(settings.limit_ms));
    }
    if settings.rounds > 500 {
        return Err(OpenError::Rounds(settings.rounds));
    }
    if settings.tasks.is_empty() {
        return Err(OpenError::NoTask);
    }
    let list = course.list();
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let plan = draw(course, settings.rounds, &mut random);
    let can = |muscle: &MuscleKey, task: Task| match task {
        Task::Name => true,
        Task::Picture => is_pictured(muscle),
        Task::Movement => task::can_predict(course, muscle),
    };
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
            section: settings.section.clone(),
        },
        seed,
        tasks: deal(&settings.tasks, &plan, &mut random, can),
        plan,
    })
}

fn draw(course: &Course, rounds: u16, random: &mut ChaCha8Rng) -> Vec<MuscleKey> {
    let mut muscles: Vec<MuscleKey> = course.items().iter().map(|i| i.muscle.clone()).collect();
    let rounds = if rounds == 0 { muscles.len() } else { usize::from(rounds) };
    let mut plan: Vec<MuscleKey> = Vec::with_capacity(rounds);
    while plan.len() < rounds {
        muscles.shuffle(random);
        if muscles.len() > 1 && plan.last() == muscles.first() {
            let other = random.random_range(1..muscles.len());
            muscles.swap(0, other);
        }
        plan.extend(muscles.iter().take(rounds - plan.len()).cloned());
    }
    plan
}

/// The task of each round of a plan.
fn deal(
    tasks: &[Task],
    plan: &[MuscleKey],
    random: &mut ChaCha8Rng,
    can: impl Fn(&MuscleKey, Task) -> bool,
) -> Vec<Task> {
    // Each once, whatever was asked for twice.
    let mut order: Vec<Task> = tasks.iter().copied().collect::<BTreeSet<_>>().into_iter().collect();
    order.shuffle(random);
    let turns = plan.iter().zip(order.into_iter().cycle());
    turns.map(|(muscle, task)| if can(muscle, task) { task } else { Task::Name }).collect()
}
