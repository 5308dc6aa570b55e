//! The room's own code in a simulated world: its clock, its disk, its network and its entropy come
//! from one seed, and so does all that goes wrong. Whatever happens, what anyone was told must agree
//! with the log, and the log with itself; `ear.rs` and `verdict.rs` say how.
//!
//! `SEED=7 cargo test -p myonym --lib sim` plays one review again, `SEEDS=2000` so many;
//! with `ALOUD=1` and `--nocapture` all that happens is printed.

#![expect(clippy::wildcard_enum_match_arm, reason = "a test looks for one event among many")]

mod conduct;
mod disk;
mod draw;
mod ear;
mod fault;
mod flow;
mod host;
mod kept;
mod net;
mod student;
mod typing;
mod verdict;
mod weather;
mod world;

use std::env;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};
use std::thread;

use anyhow::{Context as _, Result, anyhow, ensure};
use myonym_engine::Event;
use myonym_wire::{CloseWhy, Task, TimeAllowance};

use disk::look;
use fault::{Fault, Faults};
use kept::KEPT;
use world::World;

use crate::clock::Clock;

/// Reviews played where nothing is asked for.
const SEEDS: u64 = 400;
/// From so many reviews on, every fault must have been done.
const ENOUGH: u64 = 300;
/// Threads that play.
const THREADS: usize = 2;

/// What came of a review.
#[derive(Debug, Default, PartialEq, Eq)]
struct Played {
    trace: u64,
    faults: Faults,
    answers: u64,
    messages: u64,
}

fn play(seed: u64) -> Result<Played> {
    let mut builder = tokio::runtime::Builder::new_current_thread();
    let runtime = builder.enable_time().start_paused(true).build()?;
    let played = runtime.block_on(async {
        let mut world = World::new(seed);
        world.play().await.with_context(|| format!("at {} ms", world.now().0))?;
        verdict::check(&world)?;
        let mut faults = world.faults.clone();
        let disk = look(&world.disk);
        faults.add(&disk.faults);
        count_events(&disk, &mut faults);
        let answers = disk.recorded.len() as u64;
        let trace = world.trace_of(&disk);
        Ok(Played { trace, faults, answers, messages: world.messages })
    });
    played.map_err(|fault: anyhow::Error| fault.context(format!("SEED={seed} plays it again")))
}

/// The same, where a panic is a failure like any other.
fn play_or_fail(seed: u64) -> Result<Played> {
    catch_unwind(AssertUnwindSafe(|| play(seed)))
        .unwrap_or_else(|_| Err(anyhow!("SEED={seed} plays it again: it panics")))
}

/// What the log tells of what happened.
fn count_events(disk: &disk::Disk, faults: &mut Faults) {
    for logged in &disk.logged {
        let fault = match &logged.event {
            Event::Away { left: true, .. } => Fault::Left,
            Event::Removed { .. } => Fault::Removed,
            Event::Stretched { time: TimeAllowance::Untimed, .. } => Fault::Untimed,
            Event::Stretched { time: TimeAllowance::Stretched { .. }, .. } => Fault::Stretched,
            Event::Paused {} => Fault::Paused,
            Event::Resumed {} => Fault::Resumed,
            Event::RoundSkipped { .. } => Fault::Skipped,
            Event::RoundClosed { why: CloseWhy::Instructor, .. } => Fault::ClosedEarly,
            Event::Voted { .. } => Fault::Voted,
            Event::Replanned { .. } => Fault::Replanned,
            Event::RoundOpened { task: Task::Movement, .. } => Fault::Movement,
            Event::RoundOpened { task: Task::Picture, .. } => Fault::Picture,
            Event::RoundOpened { task: Task::Contrast, .. } => Fault::Contrast,
            _ => continue,
        };
        faults.count(fault);
    }
}

/// Plays these seeds, each to its end; gives what came of them and the failures.
fn play_all(seeds: &[u64]) -> (Played, Vec<(u64, anyhow::Error)>) {
    let next = AtomicU64::new(0);
    let (sum, failed) = (Mutex::new(Played::default()), Mutex::new(Vec::new()));
    let work = || {
        while let Some(seed) =
            seeds.get(usize::try_from(next.fetch_add(1, Ordering::Relaxed)).unwrap())
        {
            match play_or_fail(*seed) {
                Ok(played) => {
                    let mut sum = sum.lock().unwrap();
                    sum.faults.add(&played.faults);
                    sum.answers += played.answers;
                    sum.messages += played.messages;
                }
                Err(fault) => failed.lock().unwrap().push((*seed, fault)),
            }
        }
    };
    thread::scope(|scope| (0..THREADS).for_each(|_| drop(scope.spawn(work))));
    (sum.into_inner().unwrap(), failed.into_inner().unwrap())
}

fn asked_for(name: &str) -> Result<Option<u64>> {
    let asked = env::var(name).ok();
    asked.map(|text| text.parse().with_context(|| format!("{name} is a number"))).transpose()
}

/// The seeds to play, and whether they are so many that all must have happened.
fn seeds() -> Result<(Vec<u64>, bool)> {
    if let Some(seed) = asked_for("SEED")? {
        return Ok((vec![seed], false));
    }
    let count = asked_for("SEEDS")?.unwrap_or(SEEDS);
    let kept = KEPT.iter().map(|(seed, _)| *seed);
    Ok((kept.chain(1..=count).collect(), count >= ENOUGH))
}

#[test]
fn whatever_happens_what_was_told_agrees_with_the_log() -> Result<()> {
    let (seeds, all) = seeds()?;
    let clock = Clock::start();
    let (sum, mut failed) = play_all(&seeds);
    let (reviews, took) = (seeds.len() as u64, clock.now().0.max(1));
    let a_minute = reviews * 60_000 / took;
    println!(
        "{reviews} reviews in {} s, {a_minute} a minute; {} answers, {} messages\n{}",
        took / 1_000,
        sum.answers,
        sum.messages,
        sum.faults
    );
    failed.sort_by_key(|(seed, _)| *seed);
    for (_, fault) in failed.iter().take(20) {
        println!("{fault:#}\n");
    }
    let which: Vec<u64> = failed.iter().map(|(seed, _)| *seed).collect();
    ensure!(failed.is_empty(), "{} of {} failed: {which:?}", failed.len(), seeds.len());
    let missing = sum.faults.missing();
    ensure!(!all || missing.is_empty(), "never done: {missing:?}");
    Ok(())
}

#[test]
fn a_seed_plays_the_same_review_again() -> Result<()> {
    let mut traces = std::collections::BTreeSet::new();
    for seed in 1_000..1_012 {
        let (first, second) = (play(seed)?, play(seed)?);
        assert_eq!(first, second, "seed {seed}");
        traces.insert(first.trace);
    }
    assert_eq!(traces.len(), 12, "each seed plays another review");
    Ok(())
}
