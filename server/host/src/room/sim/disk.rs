//! A simulated disk: commits take their time, fail, or are kept and never answered.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use myonym_engine::{Event, Logged};
use myonym_tests::{LogRow, ReviewLog};
use myonym_wire::{AttemptId, Millis, ReviewId, RoundNo, Seq, StudentId};
use rand::rngs::ChaCha8Rng;
use rand::{RngExt as _, SeedableRng as _};
use serde_json::Value;
use tokio::sync::mpsc;
use tokio::time::sleep;

use super::fault::{Fault, Faults};
use crate::store::{AppendError, Batch, Log, Order, Saving, SeatRow, StoreError, order};

/// Batches that may wait; a room has one under way.
const WAITING: usize = 256;
/// A commit that takes longer counts as late, in milliseconds.
const LATE_MS: u64 = 100;

/// What outlasts the host's process: events as the text that they are kept as, and seats.
#[derive(Debug)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a fault of its own, and any go together"
)]
pub(super) struct Disk {
    pub(super) rows: Vec<(Seq, Millis, String)>,
    /// The same events, read back.
    pub(super) logged: Vec<Logged>,
    pub(super) seats: Vec<SeatRow>,
    /// Whose each attempt is, as often as it was recorded.
    pub(super) recorded: BTreeMap<AttemptId, Vec<StudentId>>,
    /// Commits fail.
    pub(super) full: bool,
    /// The log cannot be read.
    pub(super) unreadable: bool,
    /// The next commit is kept and answered as failed.
    pub(super) untold: bool,
    /// How long a commit takes at most, in milliseconds.
    pub(super) slow_ms: u64,
    /// Batches that were handed over and are not on disk.
    pub(super) unsynced: usize,
    /// Batches on disk of which the room has not been told.
    pub(super) unanswered: usize,
    /// Something was answered as failed since the host started.
    pub(super) failed: bool,
    pub(super) faults: Faults,
    random: ChaCha8Rng,
}

/// The disk, shared by the processes that follow each other and whoever looks at it.
pub(super) type Shared = Arc<Mutex<Disk>>;

pub(super) fn look(disk: &Shared) -> MutexGuard<'_, Disk> {
    disk.lock().unwrap_or_else(PoisonError::into_inner)
}

/// The log of one process of the host.
#[derive(Debug)]
pub(super) struct SimLog {
    disk: Shared,
    orders: mpsc::Sender<Order>,
}

impl Disk {
    pub(super) fn new(seed: u64) -> Shared {
        Arc::new(Mutex::new(Self {
            rows: Vec::new(),
            logged: Vec::new(),
            seats: Vec::new(),
            recorded: BTreeMap::new(),
            full: false,
            unreadable: false,
            untold: false,
            slow_ms: 4,
            unsynced: 0,
            unanswered: 0,
            failed: false,
            faults: Faults::default(),
            random: ChaCha8Rng::seed_from_u64(seed),
        }))
    }

    pub(super) fn last(&self) -> Seq {
        self.rows.last().map_or(Seq(0), |(seq, ..)| *seq)
    }

    /// The log as whoever counts it again reads it, up to an event.
    pub(super) fn review_log(&self, up_to: Seq) -> ReviewLog {
        let rows = self.rows.iter().take_while(|(seq, ..)| *seq <= up_to);
        let row = |(seq, at, text): &(Seq, Millis, String)| {
            let body: Value = serde_json::from_str(text).expect("what was kept is JSON");
            let kind = body["kind"].as_str().unwrap_or_default().to_owned();
            LogRow { seq: seq.0, at_ms: at.0, kind, body }
        };
        ReviewLog { word: String::new(), ended: false, rows: rows.map(row).collect() }
    }

    /// The event that opened a round.
    pub(super) fn opened(&self, number: RoundNo) -> Option<Event> {
        let opens =
            |event: &Event| matches!(event, Event::RoundOpened { round, .. } if *round == number);
        self.events().rev().find(|event| opens(event)).cloned()
    }

    /// Whether a round takes no more answers.
    pub(super) fn is_over(&self, number: RoundNo) -> bool {
        self.events().any(|event| match event {
            Event::RoundClosed { round, .. } | Event::RoundSkipped { round } => *round == number,
            _ => false,
        })
    }

    pub(super) fn has_open_round(&self) -> bool {
        let turn = self.events().rev().find_map(|event| match event {
            Event::RoundOpened { .. } => Some(true),
            Event::RoundClosed { .. } | Event::RoundSkipped { .. } => Some(false),
            _ => None,
        });
        turn.unwrap_or(false)
    }

    pub(super) fn is_ended(&self) -> bool {
        self.events().any(|event| matches!(event, Event::Ended { .. }))
    }

    fn events(&self) -> impl DoubleEndedIterator<Item = &Event> {
        self.logged.iter().map(|logged| &logged.event)
    }

    fn commit(&mut self, batch: &Batch) -> Result<Seq, AppendError> {
        if self.last() != batch.after {
            let (review, expected, found) = (batch.review, batch.after.0, self.last().0);
            return Err(AppendError::Conflict { review, expected, found });
        }
        for logged in &batch.events {
            let text = myonym_wire::encode(&logged.event);
            let event: Event = serde_json::from_str(&text).expect("an event reads back");
            if let Event::Answered(answer) = &event {
                self.recorded.entry(answer.attempt).or_default().push(answer.student);
            }
            self.rows.push((logged.seq, logged.at, text));
            self.logged.push(Logged { seq: logged.seq, at: logged.at, event });
        }
        self.seats.extend(batch.seats.iter().cloned());
        Ok(self.last())
    }

    fn delay(&mut self) -> u64 {
        let longest = self.slow_ms;
        let delay = self.random.random_range(1..=longest);
        if delay > LATE_MS {
            self.faults.count(Fault::CommitLate);
        }
        delay
    }
}

impl SimLog {
    /// A log over a disk, and the writer that has to run beside it.
    pub(super) fn over(disk: Shared) -> (Self, impl Future<Output = ()> + Send + 'static) {
        let (orders, taken) = mpsc::channel(WAITING);
        let writer = write(disk.clone(), taken);
        (Self { disk, orders }, writer)
    }
}

/// Commits what waits, all together, as the real writer does.
async fn write(disk: Shared, mut orders: mpsc::Receiver<Order>) {
    let mut waiting = Vec::new();
    while orders.recv_many(&mut waiting, WAITING).await > 0 {
        let delay = look(&disk).delay();
        sleep(Duration::from_millis(delay)).await;
        let (results, answers): (Vec<_>, Vec<_>) = {
            let mut disk = look(&disk);
            disk.unsynced -= waiting.len();
            disk.unanswered = waiting.len();
            let (batches, answers): (Vec<_>, Vec<_>) =
                waiting.drain(..).filter_map(Order::take).unzip();
            (commit_all(&mut disk, &batches), answers)
        };
        let delay = look(&disk).delay().min(20);
        sleep(Duration::from_millis(delay)).await;
        look(&disk).unanswered = 0;
        for (answer, result) in answers.into_iter().zip(results) {
            let _ = answer.send(result);
        }
    }
}

fn commit_all(disk: &mut Disk, batches: &[Batch]) -> Vec<Result<Seq, AppendError>> {
    disk.failed |= disk.full || disk.untold;
    if disk.full {
        disk.faults.count(Fault::CommitFails);
        let fault = || AppendError::Disk("no space left".to_owned());
        return batches.iter().map(|_| Err(fault())).collect();
    }
    let results = batches.iter().map(|batch| disk.commit(batch)).collect();
    if std::mem::take(&mut disk.untold) {
        disk.faults.count(Fault::CommitUntold);
        return batches.iter().map(|_| Err(AppendError::Closed)).collect();
    }
    results
}

impl Log for SimLog {
    fn append(&self, batch: Batch) -> Saving {
        let (order, saving) = order(batch);
        // Without a writer the order is dropped, and the room hears that the log is closed.
        if self.orders.try_send(order).is_ok() {
            look(&self.disk).unsynced += 1;
        }
        saving
    }

    fn read(&self, _review: ReviewId, after: Seq) -> Result<Vec<Logged>, StoreError> {
        let mut disk = look(&self.disk);
        if disk.unreadable {
            disk.faults.count(Fault::ReadFails);
            return Err(StoreError::Missing("the simulated disk".into()));
        }
        Ok(disk.logged.iter().filter(|logged| logged.seq > after).cloned().collect())
    }

    fn seats(&self, _review: ReviewId) -> Result<Vec<SeatRow>, StoreError> {
        Ok(look(&self.disk).seats.clone())
    }
}
