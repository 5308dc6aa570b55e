//! What the clients saw: counts, latencies and skews, collected while the load runs.

use std::collections::BTreeMap;
use std::time::{Duration, Instant};

use hdrhistogram::Histogram;
use myonym_wire::RoundNo;
use serde::Serialize;

use crate::script::Script;

/// Longest time that a histogram holds, in microseconds; a longer one counts as this.
const LONGEST_US: u64 = 600_000_000;

/// Things that students, or rooms, go through.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Step {
    /// A room is open and its instructor is there.
    Conducted,
    /// A student has a seat.
    Seated,
    /// A student has the first clue.
    Opened,
    /// A student heard that the round does not count.
    Skipped,
    /// A student's answer is recorded or refused.
    Answered,
    /// A room's instructor was told that the round is closed.
    Closed,
    /// A student has the last message of the reveal.
    Told,
}

/// Which acknowledgement of an answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Ack {
    /// It has reached the server.
    Received,
    /// It is on disk.
    Recorded,
}

/// The state of the load.
#[derive(Debug)]
pub(crate) struct Book {
    steps: [usize; 7],
    /// Something that makes the run worthless.
    pub(crate) trouble: Option<String>,
    /// Students whose connection ended before the review did.
    pub(crate) dropped: usize,
    /// Set before the review is ended on purpose.
    pub(crate) ending: bool,
    /// What was seen since the last [`Book::take`].
    pub(crate) tally: Tally,
    /// The server's own messages.
    pub(crate) script: Script,
}

/// What was seen in some rounds.
#[derive(Debug)]
pub(crate) struct Tally {
    /// From before the connection to the seat.
    pub(crate) joins: Histogram<u64>,
    /// From the planned instant of an answer to `received`.
    pub(crate) received: Histogram<u64>,
    /// From the planned instant of an answer to `recorded`.
    pub(crate) recorded: Histogram<u64>,
    /// From `received` to `recorded` of the same answer: what it waited for the disk.
    pub(crate) kept: Histogram<u64>,
    /// From the planned instant of an answer to its sending: the client's own lateness.
    pub(crate) lag: Histogram<u64>,
    /// When each clue was heard, by room, round and number of the clue.
    clues: BTreeMap<(usize, RoundNo, u8), Span>,
    /// Counts.
    pub(crate) counts: Counts,
    /// The first refusal, as the server worded it.
    pub(crate) first_refusal: Option<String>,
}

/// Counts of the measured rounds of a run.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub(crate) struct Counts {
    /// Answers planned.
    pub(crate) planned: u64,
    /// Answers sent.
    pub(crate) sent: u64,
    /// Answers acknowledged as received.
    pub(crate) received: u64,
    /// Answers acknowledged as recorded.
    pub(crate) recorded: u64,
    /// Answers refused, or not understood as a name.
    pub(crate) refused: u64,
    /// Acknowledgements beyond the first of their kind, or of no answer of that student.
    pub(crate) surplus: u64,
    /// Students whose connection ended early, in the whole run.
    pub(crate) dropped: u64,
    /// Messages that students heard.
    pub(crate) messages: u64,
    /// Bytes of text in them.
    pub(crate) bytes: u64,
}

/// First and last hearing of one clue in one room.
#[derive(Debug, Clone, Copy)]
struct Span {
    first: Instant,
    last: Instant,
    heard: usize,
}

impl Book {
    /// Nothing has happened yet, in rooms of so many students.
    pub(crate) fn new(students: usize) -> Self {
        Self {
            steps: [0; 7],
            trouble: None,
            dropped: 0,
            ending: false,
            tally: Tally::new(),
            script: Script::sample(students),
        }
    }

    /// One more student or room has gone through a step.
    pub(crate) fn step(&mut self, step: Step) {
        self.steps[step as usize] += 1;
    }

    /// How many have.
    pub(crate) fn done(&self, step: Step) -> usize {
        self.steps[step as usize]
    }

    /// Nobody has gone through a step.
    pub(crate) fn forget(&mut self, step: Step) {
        self.steps[step as usize] = 0;
    }

    /// A round begins: nobody has gone through its steps.
    pub(crate) fn begin_round(&mut self) {
        for step in [Step::Opened, Step::Skipped, Step::Answered, Step::Closed, Step::Told] {
            self.forget(step);
        }
    }

    /// A student's connection ended early: nobody waits for this student any more.
    pub(crate) fn lose(&mut self, why: String) {
        self.dropped += 1;
        self.tally.first_refusal.get_or_insert(why);
    }

    /// What was seen so far; a fresh tally begins.
    pub(crate) fn take(&mut self) -> Tally {
        let mut tally = std::mem::replace(&mut self.tally, Tally::new());
        tally.counts.dropped = self.dropped as u64;
        tally
    }
}

impl Tally {
    /// Nothing seen.
    pub(crate) fn new() -> Self {
        Self {
            joins: histogram(),
            received: histogram(),
            recorded: histogram(),
            kept: histogram(),
            lag: histogram(),
            clues: BTreeMap::new(),
            counts: Counts::default(),
            first_refusal: None,
        }
    }

    /// A student heard a message of so many bytes.
    pub(crate) fn heard(&mut self, bytes: usize) {
        self.counts.messages += 1;
        self.counts.bytes += bytes as u64;
    }

    /// A student heard a clue.
    pub(crate) fn clue(&mut self, room: usize, round: RoundNo, number: u8, at: Instant) {
        let new = Span { first: at, last: at, heard: 0 };
        let span = self.clues.entry((room, round, number)).or_insert(new);
        span.first = span.first.min(at);
        span.last = span.last.max(at);
        span.heard += 1;
    }

    /// A first acknowledgement, so long after the planned instant.
    pub(crate) fn acknowledged(&mut self, ack: Ack, after: Duration) {
        let (histogram, count) = match ack {
            Ack::Received => (&mut self.received, &mut self.counts.received),
            Ack::Recorded => (&mut self.recorded, &mut self.counts.recorded),
        };
        histogram.saturating_record(micros(after));
        *count += 1;
    }

    /// Time between the first and the last of `students` to hear a clue, for each clue that all
    /// of them heard, shortest first.
    pub(crate) fn skews(&self, students: usize) -> Vec<Duration> {
        let complete = self.clues.values().filter(|span| span.heard == students);
        let mut skews: Vec<Duration> = complete.map(|span| span.last - span.first).collect();
        skews.sort_unstable();
        skews
    }
}

/// Whole microseconds.
pub(crate) fn micros(time: Duration) -> u64 {
    u64::try_from(time.as_micros()).unwrap_or(u64::MAX)
}

/// From 1 microsecond to [`LONGEST_US`], to three digits.
fn histogram() -> Histogram<u64> {
    Histogram::new_with_bounds(1, LONGEST_US, 3).expect("the bounds are in order")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn skew_is_last_less_first_of_clues_that_all_heard() {
        let mut tally = Tally::new();
        let start = Instant::now();
        let mut hear = |room, number, ms: &[u64]| {
            for ms in ms {
                tally.clue(room, RoundNo(1), number, start + Duration::from_millis(*ms));
            }
        };
        hear(0, 1, &[40, 10, 25]);
        hear(0, 2, &[7, 7, 7]);
        // The same clue in another room is another clue.
        hear(1, 1, &[500, 505, 501]);
        // One student missed this: there is no last one to speak of.
        hear(1, 2, &[0, 900]);
        let want = [0, 5, 30].map(Duration::from_millis);
        assert_eq!(tally.skews(3), want);
        assert!(Tally::new().skews(3).is_empty());
    }

    #[test]
    fn acknowledgements_are_counted_and_timed_apart() {
        let mut tally = Tally::new();
        tally.acknowledged(Ack::Received, Duration::from_micros(100));
        tally.acknowledged(Ack::Recorded, Duration::from_micros(900));
        tally.acknowledged(Ack::Recorded, Duration::from_hours(1));
        assert_eq!((tally.counts.received, tally.counts.recorded), (1, 2));
        assert_eq!(tally.received.max(), 100);
        assert!(tally.recorded.max() >= LONGEST_US, "held at the largest value");
    }

    #[test]
    fn a_round_begins_with_nobody_through_its_steps_and_everybody_in_a_seat() {
        let mut book = Book::new(3);
        book.step(Step::Seated);
        book.step(Step::Opened);
        book.step(Step::Opened);
        assert_eq!((book.done(Step::Seated), book.done(Step::Opened)), (1, 2));
        book.begin_round();
        assert_eq!((book.done(Step::Seated), book.done(Step::Opened)), (1, 0));
        book.lose("gone".to_owned());
        let tally = book.take();
        assert_eq!(tally.counts.dropped, 1);
        assert_eq!(tally.first_refusal.as_deref(), Some("gone"));
    }
}
