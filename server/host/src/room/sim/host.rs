//! One process of the host: the room's own code with a simulated outside.

use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use anyhow::{Context as _, Result, bail};
use myonym_content::{Course, MuscleKey};
use myonym_engine::{Logged, Review};
use myonym_insight::plan::{Proposed, Reason};
use myonym_wire::{HostKey, JoinWord, Millis, ReviewId, ReviewSettings, Seq};
use rand::rngs::ChaCha8Rng;
use rand::seq::IndexedRandom as _;
use rand::{RngExt as _, SeedableRng as _};
use tokio::sync::watch;
use tokio::task::JoinHandle;
use tokio::time::sleep;
use uuid::Uuid;

use super::disk::{Shared, SimLog, look};
use crate::chooser::Chooser;
use crate::clock::Clock;
use crate::outside::Outside;
use crate::reach::Reach;
use crate::room::{Room, RoomHandle, Start, Turns, is_pictured};
use crate::secrets::TokenHash;
use crate::store::NewReview;

const REVIEW: ReviewId = ReviewId(Uuid::from_u128(1));
/// Work aside takes this long at most, in milliseconds.
const ASIDE_MS: u64 = 40;
/// Between two turns of other rooms at most, and as long as one takes at most, in milliseconds.
const OTHERS_MS: u64 = 2_000;
const TELLING_MS: u64 = 60;

/// A process.
#[derive(Debug)]
pub(super) struct Host {
    pub(super) handle: RoomHandle,
    /// Its clock: it starts with the process.
    pub(super) clock: Clock,
    stop: watch::Sender<bool>,
    room: JoinHandle<Review>,
    writer: JoinHandle<()>,
    others: JoinHandle<()>,
}

/// Entropy and threads from a seed: work is done by the one thread there is, a little later.
#[derive(Debug)]
struct Seeded(Mutex<ChaCha8Rng>);

impl Outside for Seeded {
    fn bits(&self) -> u128 {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).random()
    }

    fn work(&self, work: Box<dyn FnOnce() + Send>) {
        let mut random = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let delay = Duration::from_millis(random.random_range(0..=ASIDE_MS));
        tokio::spawn(async move {
            sleep(delay).await;
            work();
        });
    }
}

/// Chooses any muscle, or none.
#[derive(Debug)]
struct Picks {
    muscles: Vec<MuscleKey>,
    random: ChaCha8Rng,
}

impl Chooser for Picks {
    fn choose(&mut self) -> Option<Proposed> {
        let chosen = self.random.random_bool(0.8).then(|| self.muscles.choose(&mut self.random));
        let muscle = chosen.flatten()?.clone();
        let beside = self.random.random_bool(0.5).then(|| self.muscles.choose(&mut self.random));
        let beside = beside.flatten().filter(|other| **other != muscle).cloned();
        Some(Proposed { muscle, beside, reason: Reason::Weak, why: "missed before".to_owned() })
    }
}

impl Host {
    /// Opens the review, or goes on with what is on the disk.
    pub(super) fn start(
        disk: &Shared,
        course: &Arc<Course>,
        settings: &ReviewSettings,
        seed: u64,
    ) -> Result<Self> {
        let (log, writer) = SimLog::over(disk.clone());
        let word: JoinWord = "radius-talus".parse()?;
        let key = TokenHash::of(HostKey::from_bits(1).reveal());
        let (handle, posts) = RoomHandle::new(REVIEW, word.clone(), key, course.clone(), false);
        let (events, seats) = {
            let mut disk = look(disk);
            disk.failed = false;
            (disk.logged.clone(), disk.seats.clone())
        };
        let opens = events.is_empty();
        let events = if opens { vec![opening(course, settings, seed)?] } else { events };
        let muscles = course.items().iter().map(|item| item.muscle.clone()).collect();
        let picks = Picks { muscles, random: ChaCha8Rng::seed_from_u64(seed ^ 1) };
        let clock = Clock::start();
        // In every other world a room of one is a class.
        let turns = if seed.is_multiple_of(2) { Turns::from(1) } else { Turns::default() };
        let room = Room::new(Start {
            handle: handle.clone(),
            log: Arc::new(log),
            clock,
            outside: Arc::new(Seeded(Mutex::new(ChaCha8Rng::seed_from_u64(seed)))),
            events,
            seats,
            opens: opens.then_some(NewReview { word, key, opened: 0, own_list: None }),
            reach: Reach::default(),
            roster: None,
            chooser: settings.adaptive.then(|| -> Box<dyn Chooser> { Box::new(picks) }),
            gallery: Arc::default(),
            turns: turns.clone(),
        });
        let room = room.context("what is on the disk is no review")?;
        let stop = watch::Sender::new(false);
        let room = tokio::spawn(room.run(posts, stop.subscribe()));
        let others = tokio::spawn(others(turns, ChaCha8Rng::seed_from_u64(seed ^ 2)));
        Ok(Self { handle, clock, stop, room, writer: tokio::spawn(writer), others })
    }

    /// Whether the room ended by itself.
    pub(super) fn is_over(&self) -> bool {
        self.room.is_finished()
    }

    /// Asks it to stop.
    pub(super) fn ask_to_stop(&self) {
        self.stop.send_replace(true);
    }

    /// The review as the room left it.
    pub(super) async fn ended(self) -> Result<Review> {
        let review = self.room.await;
        self.writer.abort();
        self.others.abort();
        review.context("the room broke")
    }

    /// A power cut.
    pub(super) async fn kill(self, disk: &Shared) -> Result<()> {
        self.room.abort();
        self.writer.abort();
        self.others.abort();
        let _ = self.writer.await;
        if let Err(fault) = self.room.await
            && fault.is_panic()
        {
            bail!("the room broke: {fault}");
        }
        let mut disk = look(disk);
        (disk.unsynced, disk.unanswered) = (0, 0);
        Ok(())
    }
}

/// Other rooms of the process, as far as this one notices: now and then they have the turn.
async fn others(turns: Turns, mut random: ChaCha8Rng) {
    loop {
        sleep(Duration::from_millis(random.random_range(0..=OTHERS_MS))).await;
        let turn = turns.mine().await;
        sleep(Duration::from_millis(random.random_range(0..=TELLING_MS))).await;
        drop(turn);
    }
}

fn opening(course: &Course, settings: &ReviewSettings, seed: u64) -> Result<Logged> {
    let pictured = |muscle: &MuscleKey| is_pictured(course, muscle);
    let event = myonym_engine::open(REVIEW, course, settings, seed, pictured)?;
    Ok(Logged { seq: Seq(1), at: Millis(0), event })
}
