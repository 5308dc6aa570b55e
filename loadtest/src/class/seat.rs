//! One student: what was sent, what is heard, and what that means for the counts.

use std::time::{Duration, Instant};

use myonym_wire::{AttemptId, FromStudent, Hello, JoinWord, RoundNo, SeatToken};
use uuid::Uuid;

use crate::crowd::News;
use crate::heard::Heard;
use crate::measure::{Ack, Book, Step, micros};

/// What the students answer, in turn: the four muscles of the rotator cuff.
const ANSWERS: [&str; 4] = ["teres minor", "infraspinatus", "supraspinatus", "subscapularis"];

/// One student.
#[derive(Debug)]
pub(super) struct Seat {
    index: usize,
    room: usize,
    token: u128,
    /// When the connection under way was begun.
    came: Option<Instant>,
    /// When the open round's first clue was heard.
    opened: Option<Instant>,
    /// The answer under way.
    attempt: Option<Attempt>,
}

/// An answer that was sent, and what became of it.
#[derive(Debug, Clone, Copy)]
struct Attempt {
    id: AttemptId,
    planned: Instant,
    received: Option<Instant>,
    recorded: bool,
    refused: bool,
}

impl Seat {
    /// A student who has not come yet.
    pub(super) fn new(index: usize, room: usize, token: u128) -> Self {
        Self { index, room, token, came: None, opened: None, attempt: None }
    }

    /// Index of the room.
    pub(super) fn room(&self) -> usize {
        self.room
    }

    /// Comes, or comes back: what to say first.
    pub(super) fn come(&mut self, word: JoinWord, again: bool) -> Hello {
        self.came = Some(Instant::now());
        let seat = SeatToken::from_bits(self.token);
        if again {
            return Hello::Return { word, seat };
        }
        let (name, seat) = (format!("student {:03}", self.index + 1), Some(seat));
        Hello::Join { word, name, listed: true, seat, person: None, group: None }
    }

    /// An answer that was planned for then.
    pub(super) fn answer(&mut self, round: RoundNo, planned: Instant) -> FromStudent {
        let attempt = AttemptId(Uuid::new_v4());
        self.attempt = Some(Attempt::new(attempt, planned));
        let text = ANSWERS[self.index % ANSWERS.len()].to_owned();
        let seen = self.opened.map(|opened| planned.saturating_duration_since(opened));
        let elapsed_ms = seen.map_or(0, |seen| micros(seen) / 1_000);
        FromStudent::Answer { round, attempt, text, elapsed_ms }
    }

    /// Takes what the connection has to tell.
    pub(super) fn hear(&mut self, news: News<'_>, book: &mut Book) {
        let now = Instant::now();
        let text = match news {
            News::Text(text) => text,
            News::Lost(_) if book.ending => return,
            News::Lost(why) => return book.lose(format!("student {:03}: {why}", self.index + 1)),
        };
        match Heard::read(text) {
            Ok(heard) => {
                if self.index == 0 {
                    book.script.learn(&heard, text);
                }
                book.tally.heard(text.len());
                self.take(heard, now, book);
            }
            Err(fault) => book.lose(format!("student {:03}: {fault:#}", self.index + 1)),
        }
    }

    fn take(&mut self, heard: Heard, now: Instant, book: &mut Book) {
        match heard {
            Heard::Seated => {
                if let Some(came) = self.came.take() {
                    book.tally.joins.saturating_record(micros(now - came));
                    book.step(Step::Seated);
                }
            }
            Heard::RoundOpened(round) => {
                self.opened = Some(now);
                book.tally.clue(self.room, round, 1, now);
                book.step(Step::Opened);
            }
            Heard::Clue(round, number) => book.tally.clue(self.room, round, number, now),
            Heard::Received(id) => self.acknowledge(book, Ack::Received, id, now),
            Heard::Recorded(id) => self.acknowledge(book, Ack::Recorded, id, now),
            Heard::AskedAgain(_) => self.refuse(book, "a name was not understood".to_owned()),
            Heard::Refused(why) if self.came.is_some() => book.lose(why),
            Heard::Refused(why) => self.refuse(book, why),
            Heard::RoundSkipped => book.step(Step::Skipped),
            Heard::Standings => book.step(Step::Told),
            Heard::RoundClosed | Heard::Revealed | Heard::Result | Heard::Ended | Heard::Other => {}
        }
    }

    /// Each answer is to be acknowledged once in each way; anything more is counted as surplus.
    fn acknowledge(&mut self, book: &mut Book, ack: Ack, id: AttemptId, now: Instant) {
        let own = self.attempt.as_mut().filter(|attempt| attempt.id == id);
        let Some(own) = own.filter(|own| !own.has(ack)) else {
            book.tally.counts.surplus += 1;
            return;
        };
        book.tally.acknowledged(ack, now.saturating_duration_since(own.planned));
        match ack {
            Ack::Received => own.received = Some(now),
            Ack::Recorded => {
                own.recorded = true;
                let wait = own.received.map_or(Duration::ZERO, |received| now - received);
                book.tally.kept.saturating_record(micros(wait));
                book.step(Step::Answered);
            }
        }
    }

    /// A refusal speaks of the answer under way, if there is one.
    fn refuse(&mut self, book: &mut Book, why: String) {
        book.tally.first_refusal.get_or_insert(why);
        if let Some(attempt) = self.attempt.as_mut().filter(|a| !a.recorded && !a.refused) {
            attempt.refused = true;
            book.tally.counts.refused += 1;
            book.step(Step::Answered);
        }
    }
}

impl Attempt {
    fn new(id: AttemptId, planned: Instant) -> Self {
        Self { id, planned, received: None, recorded: false, refused: false }
    }

    fn has(&self, ack: Ack) -> bool {
        match ack {
            Ack::Received => self.received.is_some(),
            Ack::Recorded => self.recorded,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::Counts;

    fn id(number: u128) -> AttemptId {
        AttemptId(Uuid::from_u128(number))
    }

    /// What one student counts who sent attempt 1 and hears this.
    fn check(heard: &[Heard], want: Counts) {
        let mut book = Book::new(1);
        let mut seat = Seat::new(0, 0, 1);
        seat.attempt = Some(Attempt::new(id(1), Instant::now()));
        for heard in heard {
            seat.take(heard.clone(), Instant::now(), &mut book);
        }
        assert_eq!(book.take().counts, want, "{heard:?}");
    }

    #[test]
    fn each_answer_is_acknowledged_once() {
        let received = || Heard::Received(id(1));
        let recorded = || Heard::Recorded(id(1));
        let refused = || Heard::Refused("too late".to_owned());
        let once = Counts { received: 1, recorded: 1, ..Counts::default() };
        check(&[received(), recorded()], once);
        check(&[received(), recorded(), recorded()], Counts { surplus: 1, ..once });
        check(&[received(), received(), recorded()], Counts { surplus: 1, ..once });
        check(&[Heard::Received(id(2))], Counts { surplus: 1, ..Counts::default() });
        check(&[refused()], Counts { refused: 1, ..Counts::default() });
        check(&[refused(), refused()], Counts { refused: 1, ..Counts::default() });
        check(&[Heard::AskedAgain(id(1))], Counts { refused: 1, ..Counts::default() });
        check(&[received(), recorded(), refused()], once);
    }

    #[test]
    fn who_comes_back_is_seated_once_by_the_same_token() {
        let (mut book, mut seat) = (Book::new(1), Seat::new(0, 0, 7));
        let word: JoinWord = "radius-talus".parse().unwrap();
        let Hello::Join { seat: Some(first), .. } = seat.come(word.clone(), false) else {
            panic!()
        };
        seat.take(Heard::Seated, Instant::now(), &mut book);
        seat.take(Heard::Seated, Instant::now(), &mut book);
        let Hello::Return { seat: second, .. } = seat.come(word, true) else { panic!() };
        assert_eq!(first, second);
        assert_eq!(book.done(Step::Seated), 1);
    }
}
