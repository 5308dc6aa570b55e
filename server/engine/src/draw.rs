//! Opening a review: as planned, or drawing the order of its rounds and dealing what each asks for.

use std::collections::BTreeSet;
use std::fmt;

use myonym_content::{Course, ListKey, MuscleKey};
use myonym_wire::{ReviewId, ReviewSettings, Task};
use rand::rngs::ChaCha8Rng;
use rand::seq::SliceRandom;
use rand::{RngExt as _, SeedableRng as _};

use crate::event::{Event, SCHEMA, Settings};
use crate::planned::Planned;
use crate::task;

/// Why a review cannot open with these settings, or as it is planned.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum OpenError {
    /// The time limit is not from 1 s to 600 s.
    Limit(u32),
    /// More than 500 rounds.
    Rounds(u16),
    /// Nothing to ask for.
    NoTask,
    /// A plan without rounds.
    NoRounds,
    /// A planned muscle that is not on the list.
    NotListed {
        /// The muscle.
        muscle: MuscleKey,
        /// The list.
        list: ListKey,
    },
    /// A muscle to be set beside another, of which nothing is known.
    NoFacts(MuscleKey),
}

impl fmt::Display for OpenError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Limit(ms) => write!(f, "a time limit of {ms} ms is not from 1000 to 600000"),
            Self::Rounds(n) => write!(f, "{n} rounds are more than 500"),
            Self::NoTask => f.write_str("a review needs at least one task"),
            Self::NoRounds => f.write_str("a plan needs at least one round"),
            Self::NotListed { muscle, list } => {
                write!(f, "muscle `{muscle}` is planned, but is not on the list `{list}`")
            }
            Self::NoFacts(muscle) => write!(f, "nothing is known of muscle `{muscle}`"),
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
    if settings.rounds > MOST_ROUNDS {
        return Err(OpenError::Rounds(settings.rounds));
    }
    if settings.tasks.is_empty() {
        return Err(OpenError::NoTask);
    }
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let muscles = draw(course, settings.rounds, &mut random);
    let plan = deal(&settings.tasks, muscles, &mut random);
    open_planned(review, course, settings, plan, seed, is_pictured)
}

/// The first event of a review whose rounds are planned; `seed` draws the order of names where two
/// are offered. Rounds and tasks of the settings are not used. What cannot be asked in the way that
/// is planned is asked for by name.
pub fn open_planned(
    review: ReviewId,
    course: &Course,
    settings: &ReviewSettings,
    plan: Vec<Planned>,
    seed: u64,
    is_pictured: impl Fn(&MuscleKey) -> bool,
) -> Result<Event, OpenError> {
    if !(1_000..=600_000).contains(&settings.limit_ms) {
        return Err(OpenError::Limit(settings.limit_ms));
    }
    let rounds = u16::try_from(plan.len()).unwrap_or(u16::MAX);
    match rounds {
        0 => return Err(OpenError::NoRounds),
        1..=MOST_ROUNDS => {}
        _ => return Err(OpenError::Rounds(rounds)),
    }
    let list = course.list();
    for planned in &plan {
        if course.item(&planned.muscle).is_none() {
            let muscle = planned.muscle.clone();
            return Err(OpenError::NotListed { muscle, list: list.key.clone() });
        }
        if let Some(other) = planned.beside.as_ref().filter(|key| course.muscle(key).is_none()) {
            return Err(OpenError::NoFacts(other.clone()));
        }
    }
    let plan: Vec<Planned> =
        plan.into_iter().map(|planned| task::possible(course, planned, &is_pictured)).collect();
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
            adaptive: settings.adaptive,
            section: settings.section.clone(),
        },
        seed,
        tasks: plan.iter().map(|planned| planned.task).collect(),
        beside: beside(&plan),
        plan: plan.into_iter().map(|planned| planned.muscle).collect(),
        why: Vec::new(),
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

/// The other muscle of each round, where any has one.
fn beside(plan: &[Planned]) -> Vec<Option<MuscleKey>> {
    let any = plan.iter().any(|planned| planned.beside.is_some());
    plan.iter().filter(|_| any).map(|planned| planned.beside.clone()).collect()
}

/// A task for each muscle in turn.
fn deal(tasks: &[Task], muscles: Vec<MuscleKey>, random: &mut ChaCha8Rng) -> Vec<Planned> {
    // Each once, whatever was asked for twice.
    let mut order: Vec<Task> = tasks.iter().copied().collect::<BTreeSet<_>>().into_iter().collect();
    order.shuffle(random);
    let turns = muscles.into_iter().zip(order.into_iter().cycle());
    turns.map(|(muscle, task)| Planned { muscle, task, beside: None }).collect()
}

/// Rounds of a review at most.
const MOST_ROUNDS: u16 = 500;
