//! A log in memory, for tests: it can be told to refuse, or to answer later.

use std::collections::BTreeMap;
use std::sync::Mutex;

use myonym_engine::Logged;
use myonym_wire::{ReviewId, Seq};
use tokio::sync::oneshot;

use super::order::order;
use super::{AppendError, Batch, Log, Saving, SeatRow, StoreError};

type Answer = (oneshot::Sender<Result<Seq, AppendError>>, Seq);

#[derive(Debug, Default)]
pub(crate) struct MemoryLog {
    state: Mutex<State>,
}

#[derive(Debug, Default)]
struct State {
    events: BTreeMap<ReviewId, Vec<Logged>>,
    seats: BTreeMap<ReviewId, Vec<SeatRow>>,
    full: bool,
    unreadable: bool,
    slow: bool,
    late: Vec<Answer>,
}

impl MemoryLog {
    /// From now on appends fail (or work again), as on a full disk.
    pub(crate) fn set_full(&self, full: bool) {
        self.state.lock().unwrap().full = full;
    }

    /// From now on the log cannot be read (or can again).
    pub(crate) fn set_unreadable(&self, unreadable: bool) {
        self.state.lock().unwrap().unreadable = unreadable;
    }

    /// From now on appends are kept but not answered, as on a slow disk; ending it answers all.
    pub(crate) fn set_slow(&self, slow: bool) {
        let mut state = self.state.lock().unwrap();
        state.slow = slow;
        if !slow {
            for (answer, seq) in state.late.drain(..) {
                let _ = answer.send(Ok(seq));
            }
        }
    }
}

impl Log for MemoryLog {
    fn append(&self, batch: Batch) -> Saving {
        let (order, saving) = order(batch);
        let Some((batch, answer)) = order.take() else { return saving };
        let mut state = self.state.lock().unwrap();
        let found = state.events.get(&batch.review).map_or(0, Vec::len) as u64;
        if state.full {
            let _ = answer.send(Err(AppendError::Disk("no space left".to_owned())));
        } else if found != batch.after.0 {
            let (review, expected) = (batch.review, batch.after.0);
            let _ = answer.send(Err(AppendError::Conflict { review, expected, found }));
        } else {
            let last = batch.events.last().map_or(batch.after, |logged| logged.seq);
            state.events.entry(batch.review).or_default().extend(batch.events);
            state.seats.entry(batch.review).or_default().extend(batch.seats);
            for (student, name) in batch.names {
                let seats = state.seats.entry(batch.review).or_default();
                seats.iter_mut().filter(|seat| seat.student == student).for_each(|seat| {
                    seat.name.clone_from(&name);
                });
            }
            if state.slow {
                state.late.push((answer, last));
            } else {
                let _ = answer.send(Ok(last));
            }
        }
        saving
    }

    fn read(&self, review: ReviewId, after: Seq) -> Result<Vec<Logged>, StoreError> {
        let state = self.state.lock().unwrap();
        if state.unreadable {
            return Err(StoreError::Missing("the log in memory".into()));
        }
        let events = state.events.get(&review).into_iter().flatten();
        Ok(events.filter(|logged| logged.seq > after).cloned().collect())
    }

    fn seats(&self, review: ReviewId) -> Result<Vec<SeatRow>, StoreError> {
        Ok(self.state.lock().unwrap().seats.get(&review).cloned().unwrap_or_default())
    }
}
