//! A class and its instructors, as the clients play them: all rooms of a load, on one thread.

mod seat;

use std::net::SocketAddr;
use std::ops::Range;
use std::sync::Arc;
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context, bail, ensure};
use myonym_wire::{
    FromInstructor, Hello, HostKey, JoinWord, ReviewSettings, RoundNo, ToInstructor, decode, encode,
};
use rand::rngs::ChaCha8Rng;
use rand::{RngExt as _, SeedableRng as _};
use tokio_rustls::rustls::ClientConfig;

use crate::crowd::{Crowd, News};
use crate::heard::Heard;
use crate::measure::{Book, Step, micros};
use crate::plan::Plan;
use seat::Seat;

/// Longest wait for one thing after it should be over.
const PATIENCE: Duration = Duration::from_secs(5);
/// More of it for each student: what is missing then is lost.
const PATIENCE_EACH: Duration = Duration::from_millis(3);
/// Longest wait for all students to be seated.
const JOIN_PATIENCE: Duration = Duration::from_mins(2);
/// Orders that an instructor may give at once, and time until there may be one more: somewhat
/// inside the server's limits.
const ORDERS: u32 = 36;
const NEXT_ORDER: Duration = Duration::from_millis(110);

/// A server under load.
#[derive(Debug, Clone)]
pub(crate) struct Target {
    /// Where it listens.
    pub(crate) address: SocketAddr,
    /// Its key.
    pub(crate) key: HostKey,
    /// Its process, where that may be read.
    pub(crate) pid: Option<u32>,
    /// What to believe, where it speaks TLS.
    pub(crate) trust: Option<Arc<ClientConfig>>,
}

/// The seated students and their instructors. Dropping it ends all their connections.
#[derive(Debug)]
pub(crate) struct Class {
    crowd: Crowd,
    key: HostKey,
    /// Students of each room.
    students: usize,
    seats: Vec<Seat>,
    rooms: Vec<Room>,
    /// What was seen.
    pub(crate) book: Book,
}

#[derive(Debug)]
struct Room {
    word: Option<JoinWord>,
    /// When the server's limit on orders has forgiven all that were given.
    forgiven: Instant,
    /// Whether its round is closed.
    closed: bool,
}

impl Class {
    /// Opens the rooms, each for so many students.
    ///
    /// # Errors
    /// The server does not answer, refuses, or gives fewer rounds than were asked for.
    pub(crate) fn open(
        target: &Target,
        rooms: usize,
        students: usize,
        settings: &ReviewSettings,
    ) -> anyhow::Result<Self> {
        let mut random = ChaCha8Rng::from_rng(&mut rand::rng());
        let mut class = Self {
            crowd: Crowd::new(target.address, target.trust.clone())?,
            key: target.key.clone(),
            students,
            seats: (0..rooms * students)
                .map(|index| Seat::new(index, index / students, random.random()))
                .collect(),
            rooms: (0..rooms)
                .map(|_| Room { word: None, forgiven: Instant::now(), closed: false })
                .collect(),
            book: Book::new(students),
        };
        let hello = encode(&Hello::Open {
            key: class.key.clone(),
            settings: settings.clone(),
            plan: None,
            own_list: None,
        });
        for room in 0..rooms {
            class.crowd.enter(class.seats.len() + room, &hello)?;
            let opened = class.until(Step::Conducted, room + 1, Instant::now() + PATIENCE);
            ensure!(
                opened.with_context(|| format!("cannot open room {}", room + 1))?,
                "room {} was not opened within {} s",
                room + 1,
                PATIENCE.as_secs()
            );
        }
        Ok(class)
    }

    /// Seats these students, so many under way at once: how long that took.
    pub(crate) fn seat(&mut self, who: Range<usize>, at_once: usize) -> anyhow::Result<Duration> {
        self.let_in(who, at_once, false)
    }

    /// All students are gone at once, without a word, and come back at once by their tokens.
    pub(crate) fn leave_and_return(&mut self) -> anyhow::Result<Duration> {
        let all = self.seats.len();
        (0..all).for_each(|index| self.crowd.drop_out(index));
        self.let_in(0..all, all, true)
    }

    fn let_in(
        &mut self,
        who: Range<usize>,
        at_once: usize,
        again: bool,
    ) -> anyhow::Result<Duration> {
        let began = Instant::now();
        let (mut coming, wanted) = (who.clone(), who.len());
        self.book.forget(Step::Seated);
        loop {
            let through = self.book.done(Step::Seated);
            if through >= wanted {
                return Ok(began.elapsed());
            }
            ensure!(
                self.book.dropped == 0,
                "a student was not seated: {}",
                self.book.tally.first_refusal.as_deref().unwrap_or("the connection was lost")
            );
            ensure!(
                began.elapsed() < JOIN_PATIENCE,
                "only {through} of {wanted} students were seated after {} s: ask for fewer",
                JOIN_PATIENCE.as_secs()
            );
            let free = at_once - (coming.start - who.start - through).min(at_once);
            for index in coming.by_ref().take(free) {
                let word = self.rooms[self.seats[index].room()].word.clone();
                let word = word.context("a room has no join word")?;
                self.crowd.enter(index, &encode(&self.seats[index].come(word, again)))?;
            }
            self.turn(began + JOIN_PATIENCE)?;
        }
    }

    /// Listens until the server takes two more orders from a room's instructor.
    pub(crate) fn await_turn(&mut self, room: usize) -> anyhow::Result<()> {
        let forgiven = self.rooms[room].forgiven;
        let free = forgiven.checked_sub(NEXT_ORDER * ORDERS).unwrap_or_else(Instant::now);
        self.listen_until(free)
    }

    /// Gives an order in a room.
    pub(crate) fn order(&mut self, room: usize, order: &FromInstructor) -> anyhow::Result<()> {
        let forgiven = &mut self.rooms[room].forgiven;
        *forgiven = (*forgiven).max(Instant::now()) + NEXT_ORDER;
        let who = self.seats.len() + room;
        ensure!(self.crowd.say(who, &encode(order)), "an instructor's connection has ended");
        Ok(())
    }

    /// Gives the order in every room.
    pub(crate) fn order_all(&mut self, order: &FromInstructor) -> anyhow::Result<()> {
        self.book.ending |= *order == FromInstructor::End {};
        (0..self.rooms.len()).try_for_each(|room| self.order(room, order))
    }

    /// A round begins: nobody has gone through its steps.
    pub(crate) fn begin_round(&mut self) {
        self.book.begin_round();
        self.rooms.iter_mut().for_each(|room| room.closed = false);
    }

    /// Closes the rounds that are still open.
    pub(crate) fn close_others(&mut self) -> anyhow::Result<()> {
        for room in 0..self.rooms.len() {
            if !self.rooms[room].closed {
                self.order(room, &FromInstructor::CloseRound {})?;
            }
        }
        Ok(())
    }

    /// Longest wait for a step of all students after it should be over.
    pub(crate) fn patience(&self) -> Duration {
        PATIENCE + PATIENCE_EACH * u32::try_from(self.seats.len()).unwrap_or(u32::MAX)
    }

    /// Lets the students answer as planned, until all answers are recorded or refused, or
    /// patience is over.
    pub(crate) fn answer(
        &mut self,
        round: RoundNo,
        plan: &Arc<Plan>,
        origin: Instant,
    ) -> anyhow::Result<()> {
        let (pacing, waker) = (Arc::clone(plan), self.crowd.waker());
        let pacer = thread::spawn(move || {
            pacing.pace(origin, || {
                // The other end waits as long as this runs.
                let _ = waker.wake();
            });
        });
        let mut last = origin;
        for (student, planned) in plan.from(origin) {
            self.listen_until(planned)?;
            let text = self.seats[student].answer(round, planned);
            // One who is gone sends nothing: the answer is missing from those sent.
            if self.crowd.say(student, &encode(&text)) {
                self.book.tally.lag.saturating_record(micros(planned.elapsed()));
                self.book.tally.counts.sent += 1;
            }
            last = planned;
        }
        let all = self.seats.len();
        self.until(Step::Answered, all, last.max(Instant::now()) + self.patience())?;
        pacer.join().map_err(|_panic| anyhow::anyhow!("the pacing thread failed"))
    }

    /// Listens until so many have gone through a step: whether they had before the deadline. Who
    /// is lost is not waited for.
    pub(crate) fn until(
        &mut self,
        step: Step,
        count: usize,
        deadline: Instant,
    ) -> anyhow::Result<bool> {
        loop {
            if self.book.done(step) + self.book.dropped >= count {
                return Ok(true);
            }
            if Instant::now() >= deadline {
                return Ok(false);
            }
            self.turn(deadline)?;
        }
    }

    /// Listens for so long.
    pub(crate) fn listen(&mut self, time: Duration) -> anyhow::Result<()> {
        self.listen_until(Instant::now() + time)
    }

    /// Listens until then.
    pub(crate) fn listen_until(&mut self, until: Instant) -> anyhow::Result<()> {
        while Instant::now() < until {
            self.turn(until)?;
        }
        Ok(())
    }

    fn turn(&mut self, until: Instant) -> anyhow::Result<()> {
        let wait = until.saturating_duration_since(Instant::now());
        let Self { crowd, seats, rooms, book, .. } = self;
        let all = seats.len();
        crowd.turn(wait, &mut |who, news| match seats.get_mut(who) {
            Some(seat) => seat.hear(news, book),
            None => {
                if let Err(fault) = hear_as_instructor(&mut rooms[who - all], news, book) {
                    book.trouble.get_or_insert_with(|| format!("an instructor: {fault:#}"));
                }
            }
        })?;
        if let Some(trouble) = &self.book.trouble {
            bail!("{trouble}");
        }
        Ok(())
    }

    /// Students of each room.
    pub(crate) fn students(&self) -> usize {
        self.students
    }

    /// Rooms.
    pub(crate) fn rooms(&self) -> usize {
        self.rooms.len()
    }

    /// Students of all rooms.
    pub(crate) fn everyone(&self) -> usize {
        self.seats.len()
    }
}

fn hear_as_instructor(room: &mut Room, news: News<'_>, book: &mut Book) -> anyhow::Result<()> {
    let text = match news {
        News::Text(text) => text,
        News::Lost(_) if book.ending => return Ok(()),
        News::Lost(why) => bail!("{why}"),
    };
    if room.word.is_none() {
        let message = decode(text)?;
        if let ToInstructor::Error { message, .. } = message {
            bail!("the server refused: {message}");
        }
        if let ToInstructor::Conducting { review, .. } = message {
            room.word = Some(review.word);
            book.step(Step::Conducted);
        }
        return Ok(());
    }
    match Heard::read(text)? {
        Heard::RoundClosed => {
            room.closed = true;
            book.step(Step::Closed);
        }
        Heard::Refused(why) => bail!("the server refused an order: {why}"),
        Heard::Ended => ensure!(book.ending, "the review ended too early"),
        Heard::Seated
        | Heard::RoundOpened(_)
        | Heard::RoundSkipped
        | Heard::Clue(..)
        | Heard::Received(_)
        | Heard::Recorded(_)
        | Heard::AskedAgain(_)
        | Heard::Revealed
        | Heard::Result
        | Heard::Standings
        | Heard::Other => {}
    }
    Ok(())
}
