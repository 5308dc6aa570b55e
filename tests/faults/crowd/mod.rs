//! A class that plays on by itself, whatever happens under it: students answer every round, come back
//! to their seats when the connection is lost and send again what they were not told is recorded; the
//! instructor moves the review on.

mod instructor;
mod ledger;
mod student;

use std::net::SocketAddr;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use anyhow::{Context as _, Result, bail, ensure};
use myonym_tests::{ReviewLog, Seat, Student, TestHost};
use rand::rngs::ChaCha8Rng;
use rand::{RngExt as _, SeedableRng as _};
use tokio::sync::watch;
use tokio::task::JoinHandle;
use tokio::time::{sleep, timeout};

use crate::stopwatch;
pub(crate) use ledger::{Audit, Ledger};

/// How long a review may take to go on before it counts as one that does not. Reported is the time
/// itself.
const PATIENCE: Duration = Duration::from_mins(1);

/// Where the class plays.
#[derive(Debug, Clone)]
pub(crate) struct Place {
    /// Where the host listens, or what stands before it.
    pub(crate) address: SocketAddr,
    /// The join word.
    pub(crate) word: String,
    /// The host's key.
    pub(crate) key: String,
}

/// How fast the class is.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Tempo {
    /// How long a reveal stays. An instructor has ten commands a second, a student two messages.
    pub(crate) reveal: Duration,
    /// How long a student thinks at most.
    pub(crate) thinks: Duration,
}

/// Since when something has to be heard to count.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Since {
    /// On any connection.
    Any(Instant),
    /// On a connection that was opened since as well: what a dead host has sent may still arrive.
    Anew(Instant),
}

/// A class that plays.
#[derive(Debug)]
pub(crate) struct Crowd {
    shared: Arc<Shared>,
    people: Vec<JoinHandle<Result<()>>>,
}

/// What everyone of a class shares.
#[derive(Debug)]
struct Shared {
    place: Place,
    tempo: Tempo,
    ledger: Mutex<Ledger>,
    /// Changes whenever the ledger does.
    heard: watch::Sender<u64>,
    /// Whether the review is to be ended.
    ending: watch::Sender<bool>,
}

impl Place {
    /// A host's own.
    pub(crate) fn of(host: &TestHost) -> Self {
        Self { address: host.address, word: host.word.clone(), key: host.key.clone() }
    }
}

impl Default for Tempo {
    /// As fast as may go on for ever: a student says two things a second at most.
    fn default() -> Self {
        Self { reveal: Duration::from_millis(600), thinks: Duration::from_millis(150) }
    }
}

impl Crowd {
    /// Seats this many students and lets the class play.
    pub(crate) async fn gather(
        place: Place,
        students: usize,
        tempo: Tempo,
        seed: u64,
    ) -> Result<Self> {
        let seats = take_seats(&place, students).await?;
        Ok(Self::seated(place, seats, tempo, seed))
    }

    /// Lets a class play whose students have seats.
    pub(crate) fn seated(place: Place, seats: Vec<Seat>, tempo: Tempo, seed: u64) -> Self {
        let (heard, ending) = (watch::Sender::new(0), watch::Sender::new(false));
        let ledger = Mutex::default();
        let shared = Arc::new(Shared { place, tempo, ledger, heard, ending });
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let mut people =
            vec![tokio::spawn(watched(shared.clone(), instructor::conduct(shared.clone())))];
        for seat in seats {
            let sitting = student::sit(shared.clone(), seat, random.random());
            people.push(tokio::spawn(watched(shared.clone(), sitting)));
        }
        Self { shared, people }
    }

    /// Waits until the review goes on: until somebody is told of a clue, or of a first answer recorded,
    /// both of which rest on events that were saved since. Gives the time that it took; `None` if it
    /// does not go on at all.
    pub(crate) async fn goes_on(&self, since: Since) -> Result<Option<Duration>> {
        let mut heard = self.shared.heard.subscribe();
        let wait = async {
            loop {
                heard.borrow_and_update();
                if let Some(at) = self.shared.ledger().sign(since)? {
                    let (Since::Any(since) | Since::Anew(since)) = since;
                    return Ok(at.duration_since(since));
                }
                heard.changed().await?;
            }
        };
        timeout(PATIENCE, wait).await.ok().transpose()
    }

    /// Waits for some moment of a review that goes on: half of the times while a round is answered.
    pub(crate) async fn some_moment(&self, random: &mut ChaCha8Rng) -> Result<()> {
        let plays = self.goes_on(Since::Any(stopwatch::now())).await?;
        ensure!(plays.is_some(), "the class does not play");
        let Tempo { thinks, reveal } = self.shared.tempo;
        let most = if random.random() { thinks } else { thinks + reveal };
        sleep(random.random_range(Duration::ZERO..most)).await;
        Ok(())
    }

    /// Waits until what was heard satisfies `wanted`; fails if something goes wrong, or it does not come.
    pub(crate) async fn heard(&self, wanted: impl Fn(&Ledger) -> bool) -> Result<()> {
        let mut heard = self.shared.heard.subscribe();
        let wait = async {
            loop {
                heard.borrow_and_update();
                self.shared.ledger().is_right()?;
                if wanted(&self.shared.ledger()) {
                    return Ok(());
                }
                heard.changed().await?;
            }
        };
        timeout(PATIENCE, wait).await.context("it was not heard")?
    }

    /// Looks at what was heard so far.
    pub(crate) fn ledger(&self) -> MutexGuard<'_, Ledger> {
        self.shared.ledger()
    }

    /// Ends the review, and waits until everyone has heard its end.
    pub(crate) async fn end(&mut self) -> Result<()> {
        self.shared.ending.send_replace(true);
        let all = async {
            for person in &mut self.people {
                person.await??;
            }
            Ok(())
        };
        timeout(PATIENCE, all).await.context("not everyone hears the end")?
    }

    /// Holds what was heard against the log.
    pub(crate) fn audit(&self, log: &ReviewLog) -> Result<Audit> {
        self.shared.ledger().audit(log)
    }
}

impl Drop for Crowd {
    fn drop(&mut self) {
        for person in &self.people {
            person.abort();
        }
    }
}

impl Shared {
    fn ledger(&self) -> MutexGuard<'_, Ledger> {
        self.ledger.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Writes something down and wakes who waits for it.
    fn note(&self, write: impl FnOnce(&mut Ledger)) {
        write(&mut self.ledger());
        self.heard.send_modify(|times| *times += 1);
    }

    /// Whoever lost a connection tries again soon, each in a time of its own.
    async fn wait_a_little(&self, random: &mut ChaCha8Rng) {
        sleep(Duration::from_millis(random.random_range(5..30))).await;
    }
}

/// Seats for this many students, who are not there yet.
pub(crate) async fn take_seats(place: &Place, students: usize) -> Result<Vec<Seat>> {
    let mut seats = Vec::new();
    for number in 1..=students {
        let name = format!("Student {number}");
        seats.push(Student::join(place.address, &place.word, &name).await?.vanish());
    }
    Ok(seats)
}

/// What goes wrong for a person goes wrong for the class.
async fn watched(shared: Arc<Shared>, person: impl Future<Output = Result<()>>) -> Result<()> {
    let done = person.await;
    if let Err(fault) = &done {
        let told = format!("{fault:#}");
        shared.note(|ledger| ledger.wrong(told));
        bail!("{fault:#}");
    }
    done
}
