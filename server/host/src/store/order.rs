//! A batch on its way to the disk. More may follow in it until the log takes it: so what happens
//! while the log is at another commit, or gathers for the next one, waits for one commit only.

use std::sync::{Arc, Mutex, PoisonError};

use myonym_wire::Seq;
use tokio::sync::oneshot;

use super::{AppendError, Batch};

/// Events of a batch from which on no more follow in it, and a room waits for the disk.
pub(crate) const UNSAVED: usize = 4_096;

/// What became of a batch: the number of its last event, which is on disk.
pub(crate) type Outcome = Result<Seq, AppendError>;

type Shared = Arc<Mutex<Option<Batch>>>;

/// The log's end of it.
#[derive(Debug)]
pub(crate) struct Order {
    batch: Shared,
    answer: oneshot::Sender<Outcome>,
}

/// The room's end of it.
#[derive(Debug)]
pub(crate) struct Saving {
    batch: Shared,
    answer: oneshot::Receiver<Outcome>,
}

/// Both ends of a batch's way.
pub(crate) fn order(batch: Batch) -> (Order, Saving) {
    let batch = Arc::new(Mutex::new(Some(batch)));
    let (tell, answer) = oneshot::channel();
    (Order { batch: batch.clone(), answer: tell }, Saving { batch, answer })
}

impl Order {
    /// Takes the batch, and where to answer; nothing more can follow in it.
    pub(crate) fn take(self) -> Option<(Batch, oneshot::Sender<Outcome>)> {
        let batch = self.batch.lock().unwrap_or_else(PoisonError::into_inner).take();
        batch.map(|batch| (batch, self.answer))
    }
}

impl Saving {
    /// Has more follow in the batch; gives it back if the log has taken the batch, or that is full.
    pub(crate) fn add(&self, more: Batch) -> Option<Batch> {
        let mut batch = self.batch.lock().unwrap_or_else(PoisonError::into_inner);
        match batch.as_mut() {
            Some(batch) if batch.events.len() + more.events.len() <= UNSAVED => {
                batch.events.extend(more.events);
                batch.seats.extend(more.seats);
                batch.names.extend(more.names);
                None
            }
            _ => Some(more),
        }
    }

    /// Waits until the batch is on disk, or is not.
    pub(crate) async fn done(&mut self) -> Outcome {
        (&mut self.answer).await.unwrap_or(Err(AppendError::Closed))
    }
}

#[cfg(test)]
mod tests {
    use myonym_engine::{Event, Logged};
    use myonym_wire::{Millis, ReviewId};
    use uuid::Uuid;

    use super::*;

    fn batch(seqs: std::ops::Range<u64>) -> Batch {
        let review = ReviewId(Uuid::from_u128(1));
        let after = Seq(seqs.start - 1);
        let logged = |seq| Logged { seq: Seq(seq), at: Millis(seq), event: Event::Resumed {} };
        let (seats, names) = (Vec::new(), Vec::new());
        Batch { review, after, events: seqs.map(logged).collect(), seats, names, opens: None }
    }

    #[test]
    fn more_follows_until_the_log_takes_it() {
        let (order, saving) = order(batch(1..3));
        assert!(saving.add(batch(3..7)).is_none());
        let (taken, _answer) = order.take().unwrap();
        let seqs: Vec<_> = taken.events.iter().map(|logged| logged.seq.0).collect();
        assert_eq!((taken.after, seqs), (Seq(0), (1..7).collect()));
        assert_eq!(saving.add(batch(7..9)).unwrap().after, Seq(6));
    }

    #[test]
    fn a_full_batch_takes_no_more() {
        let most = UNSAVED as u64;
        let (_order, saving) = order(batch(1..most));
        assert!(saving.add(batch(most..most + 2)).is_some());
        assert!(saving.add(batch(most..most + 1)).is_none());
    }

    #[tokio::test]
    async fn a_log_that_is_gone_has_saved_nothing() {
        let (order, mut saving) = order(batch(1..2));
        drop(order);
        assert_eq!(saving.done().await, Err(AppendError::Closed));
    }
}
