//! The one thread that writes: it takes whatever batches wait and commits them together.

use std::collections::BTreeMap;
use std::io;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::sync::{Mutex, PoisonError};
use std::thread::{self, JoinHandle};
use std::time::Duration;

use myonym_engine::{Event, Logged};
use myonym_wire::{EndWhy, ReviewId, Seq};
use rusqlite::{Connection, OptionalExtension as _, Transaction, TransactionBehavior, params};
use sha2::{Digest as _, Sha256};
use tokio::sync::mpsc;
use tracing::error;

use super::order::Order;
use super::{AppendError, Batch};
use crate::clock::{self, Clock};
use crate::metrics::COUNTS;

/// Batches committed together at most; each room has one under way.
const TOGETHER: usize = 1_024;

/// Least time from the beginning of one commit to that of the next, in which more gathers for it:
/// without it a burst had a commit for every two answers, and these cost more than the answers. What
/// comes alone is committed at once.
const PAUSE: Duration = Duration::from_millis(4);

/// Time for the last batches to get to the disk when the log is closed.
pub(super) const DRAIN: Duration = Duration::from_secs(6);

/// Where each review's log ends.
type Tails = BTreeMap<ReviewId, Tail>;

#[derive(Debug, Clone, Copy)]
struct Tail {
    /// The last number.
    seq: Seq,
    /// Its chain hash.
    chain: [u8; 32],
    /// What the review's row says of when it was touched, if this thread wrote that.
    touched: Option<i64>,
}

/// The thread that writes.
#[derive(Debug)]
pub(super) struct WriterThread {
    thread: JoinHandle<()>,
    /// Closed when the thread ends.
    ended: Mutex<Receiver<()>>,
}

impl WriterThread {
    /// Starts it.
    pub(super) fn start(work: impl FnOnce() + Send + 'static) -> io::Result<Self> {
        let (running, ended) = channel();
        let thread = thread::Builder::new().name("log-writer".to_owned()).spawn(move || {
            let _running: Sender<()> = running;
            work();
        })?;
        Ok(Self { thread, ended: Mutex::new(ended) })
    }

    /// Waits for its end; false if it has not come in time. A thread that a disk holds cannot be
    /// ended, so it is left to the end of the program.
    pub(super) fn has_ended(self, within: Duration) -> bool {
        let ended = self.ended.into_inner().unwrap_or_else(PoisonError::into_inner);
        let in_time = ended.recv_timeout(within) == Err(RecvTimeoutError::Disconnected);
        if in_time {
            let _ = self.thread.join();
        }
        in_time
    }
}

/// Writes until every sender is gone.
pub(super) fn run(mut connection: Connection, mut orders: mpsc::Receiver<Order>) {
    let mut tails = Tails::new();
    let mut waiting = Vec::with_capacity(TOGETHER);
    let mut began: Option<Clock> = None;
    while orders.blocking_recv_many(&mut waiting, TOGETHER) > 0 {
        let first = Clock::start();
        if let Some(left) = began.and_then(|began| PAUSE.checked_sub(began.elapsed())) {
            thread::sleep(left);
            gather(&mut orders, &mut waiting);
        }
        let (gathered, clock) = (first.elapsed(), Clock::start());
        began = Some(clock);
        // Only now: what happened since it was handed over goes in as well.
        let (batches, answers): (Vec<_>, Vec<_>) =
            waiting.drain(..).filter_map(Order::take).unzip();
        let results = match commit(&mut connection, &mut tails, &batches) {
            Ok(results) => {
                COUNTS.commits.took(clock.elapsed());
                COUNTS.gathered.took(gathered);
                count(&batches, &results);
                results
            }
            Err(fault) => {
                COUNTS.commits_failed.one();
                error!(%fault, "events not saved");
                // What the file holds now is read again before the next batch.
                tails.clear();
                let fault = AppendError::Disk(fault.to_string());
                batches.iter().map(|_| Err(fault.clone())).collect()
            }
        };
        for (answer, result) in answers.into_iter().zip(results) {
            // A room that went away does not wait for its answer.
            let _ = answer.send(result);
        }
    }
}

/// Takes what else waits by now.
fn gather(orders: &mut mpsc::Receiver<Order>, waiting: &mut Vec<Order>) {
    while waiting.len() < TOGETHER
        && let Ok(order) = orders.try_recv()
    {
        waiting.push(order);
    }
}

/// Counts what is on disk now.
fn count(batches: &[Batch], results: &[Result<Seq, AppendError>]) {
    for (batch, _) in batches.iter().zip(results).filter(|(_, result)| result.is_ok()) {
        COUNTS.events.more(u64::try_from(batch.events.len()).unwrap_or(u64::MAX));
        if batch.opens.is_some() {
            COUNTS.opened.one();
        }
        for logged in &batch.events {
            if let Event::Answered(_) = &logged.event {
                COUNTS.recorded.one();
            } else if let Event::Ended { why } = &logged.event {
                COUNTS.ended.one(*why);
            }
        }
    }
}

/// One transaction for all batches; a batch in conflict is left out, the others go in.
fn commit(
    connection: &mut Connection,
    tails: &mut Tails,
    batches: &[Batch],
) -> rusqlite::Result<Vec<Result<Seq, AppendError>>> {
    // The lock is taken at the start: a transaction that reads first and then finds that another
    // program wrote meanwhile fails at once, instead of waiting its turn.
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let touched = clock::wall_seconds();
    let results = batches
        .iter()
        .map(|batch| append(&transaction, tails, batch, touched))
        .collect::<rusqlite::Result<_>>()?;
    transaction.commit()?;
    Ok(results)
}

fn append(
    transaction: &Transaction<'_>,
    tails: &mut Tails,
    batch: &Batch,
    touched: i64,
) -> rusqlite::Result<Result<Seq, AppendError>> {
    let Tail { seq: found, mut chain, touched: before } = tail(transaction, tails, batch.review)?;
    if found != batch.after {
        return Ok(Err(AppendError::Conflict {
            review: batch.review,
            expected: batch.after.0,
            found: found.0,
        }));
    }
    let review = batch.review.0.as_bytes();
    if let Some(new) = &batch.opens {
        let mut insert = transaction.prepare_cached(
            "INSERT INTO review (id, word, key_hash, opened_s, touched_s, own_list) \
             VALUES (?1, ?2, ?3, ?4, ?4, ?5)",
        )?;
        insert.execute(params![review, new.word.as_str(), new.key.0, new.opened, new.own_list])?;
    }
    for seat in &batch.seats {
        let mut insert = transaction.prepare_cached(
            "INSERT INTO seat (review, student, token_hash, name, person_hash, class_group) \
             VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        )?;
        let person = seat.person.map(|person| person.0);
        let (student, token) = (seat.student.0.as_bytes(), seat.token.0);
        insert.execute(params![review, student, token, seat.name, person, seat.group])?;
    }
    for (student, name) in &batch.names {
        let mut update = transaction
            .prepare_cached("UPDATE seat SET name = ?3 WHERE review = ?1 AND student = ?2")?;
        update.execute(params![review, student.0.as_bytes(), name])?;
    }
    let mut last = found;
    let mut insert = transaction.prepare_cached(
        "INSERT INTO event (review, seq, at_ms, kind, body, chain) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
    )?;
    for logged in &batch.events {
        let body = body(logged);
        chain = link(&chain, &body);
        let (seq, at) = (signed(logged.seq.0), signed(logged.at.0));
        insert.execute(params![review, seq, at, kind(&logged.event), body, chain])?;
        last = logged.seq;
    }
    let ended = batch.events.iter().any(|logged| matches!(logged.event, Event::Ended { .. }));
    // A row is a page to write, which its second is worth once.
    if ended || before != Some(touched) {
        touch(transaction, batch, touched, ended)?;
    }
    tails.insert(batch.review, Tail { seq: last, chain, touched: Some(touched) });
    Ok(Ok(last))
}

/// Writes into a review's row when it was touched, and whether it is over.
fn touch(
    transaction: &Transaction<'_>,
    batch: &Batch,
    touched: i64,
    ended: bool,
) -> rusqlite::Result<()> {
    // A review that is given up ended when it was last touched, not when that was noticed.
    let abandoned = Event::Ended { why: EndWhy::Abandoned };
    let given_up = batch.events.iter().all(|logged| logged.event == abandoned);
    let mut update = transaction.prepare_cached(
        "UPDATE review SET touched_s = iif(?4, touched_s, ?2), ended = ended OR ?3 WHERE id = ?1",
    )?;
    update.execute(params![batch.review.0.as_bytes(), touched, ended, given_up]).map(|_rows| ())
}

fn tail(transaction: &Transaction<'_>, tails: &Tails, review: ReviewId) -> rusqlite::Result<Tail> {
    if let Some(tail) = tails.get(&review) {
        return Ok(*tail);
    }
    let mut last = transaction.prepare_cached(
        "SELECT seq, chain FROM event WHERE review = ?1 ORDER BY seq DESC LIMIT 1",
    )?;
    let found = last
        .query_row([review.0.as_bytes()], |row| Ok((row.get::<_, i64>(0)?, row.get(1)?)))
        .optional()?;
    let (seq, chain) = found.map_or((0, [0; 32]), |(seq, chain)| (seq.unsigned_abs(), chain));
    Ok(Tail { seq: Seq(seq), chain, touched: None })
}

/// The chain hash of an event: that of the one before it and its own body.
pub(super) fn link(before: &[u8; 32], body: &str) -> [u8; 32] {
    Sha256::new().chain_update(before).chain_update(body.as_bytes()).finalize().into()
}

/// `SQLite`'s integers are signed; sequence numbers and milliseconds stay far below 2^63.
pub(super) fn signed(value: u64) -> i64 {
    i64::try_from(value).unwrap_or(i64::MAX)
}

pub(super) fn body(logged: &Logged) -> String {
    myonym_wire::encode(&logged.event)
}

pub(super) fn kind(event: &Event) -> &'static str {
    match event {
        Event::Opened { .. } => "opened",
        Event::Replanned { .. } => "replanned",
        Event::Seated { .. } => "seated",
        Event::Back { .. } => "back",
        Event::Away { .. } => "away",
        Event::Removed { .. } => "removed",
        Event::Stretched { .. } => "stretched",
        Event::Renamed { .. } => "renamed",
        Event::RoundOpened { .. } => "round_opened",
        Event::ClueShown { .. } => "clue_shown",
        Event::Answered(_) => "answered",
        Event::AskedAgain { .. } => "asked_again",
        Event::Voted { .. } => "voted",
        Event::Paused {} => "paused",
        Event::Resumed {} => "resumed",
        Event::RoundClosed { .. } => "round_closed",
        Event::RoundSkipped { .. } => "round_skipped",
        Event::Revealed { .. } => "revealed",
        Event::Restarted {} => "restarted",
        Event::Ended { .. } => "ended",
        Event::Forgotten {} => "forgotten",
    }
}

#[cfg(test)]
mod tests {
    use myonym_wire::JoinWord;
    use uuid::Uuid;

    use super::*;
    use crate::secrets::TokenHash;
    use crate::store::NewReview;
    use crate::store::schema::TABLES;

    /// What a review's row says of when it was touched is written once a second, and with its end.
    #[test]
    fn a_review_is_touched_once_a_second_and_with_its_end() {
        let mut file = Connection::open_in_memory().unwrap();
        file.execute_batch(TABLES).unwrap();
        let review = ReviewId(Uuid::from_u128(1));
        let word: JoinWord = "radius-talus".parse().unwrap();
        let mut opens =
            Some(NewReview { word, key: TokenHash([0; 32]), opened: 5, own_list: None });
        let mut tails = Tails::new();
        let mut at = |seq: u64, touched: i64, event: Event| {
            let events = vec![Logged { seq: Seq(seq), at: myonym_wire::Millis(0), event }];
            let (seats, names) = (Vec::new(), Vec::new());
            let opens = opens.take();
            let batch = Batch { review, after: Seq(seq - 1), events, seats, names, opens };
            let transaction = file.transaction().unwrap();
            // What is written of it, beside the event.
            let before = transaction.total_changes();
            assert_eq!(append(&transaction, &mut tails, &batch, touched).unwrap(), Ok(Seq(seq)));
            let rows = transaction.total_changes() - before - 1;
            transaction.commit().unwrap();
            let row = "SELECT touched_s, ended FROM review";
            let row = file.query_row(row, [], |row| Ok((row.get(0)?, row.get(1)?))).unwrap();
            let (touched, ended): (i64, bool) = row;
            (rows, touched, ended)
        };
        assert_eq!(at(1, 5, Event::Restarted {}), (2, 5, false));
        assert_eq!(at(2, 5, Event::Restarted {}), (0, 5, false));
        assert_eq!(at(3, 6, Event::Restarted {}), (1, 6, false));
        assert_eq!(at(4, 6, Event::Restarted {}), (0, 6, false));
        assert_eq!(at(5, 6, Event::Ended { why: EndWhy::Finished }), (1, 6, true));
        assert_eq!(at(6, 7, Event::Restarted {}), (1, 7, true));
    }

    /// A disk that hangs, as far as the thread that writes to it can be seen from outside.
    #[test]
    fn a_writer_that_hangs_is_not_waited_for() {
        let (release, hangs) = channel::<()>();
        let writer = WriterThread::start(move || {
            let _ = hangs.recv();
        })
        .unwrap();
        assert!(!writer.has_ended(Duration::ZERO));
        drop(release);
        assert!(WriterThread::start(|| ()).unwrap().has_ended(DRAIN));
    }
}
