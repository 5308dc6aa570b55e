//! The task that owns a review.

use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::future::pending;
use std::pin::pin;
use std::sync::Arc;
use std::time::Duration;

use myonym_content::Course;
use myonym_engine::{Input, Logged, Phase, Review};
use myonym_insight::Tally;
use myonym_wire::limits::close;
use myonym_wire::{ErrorCode, Here, Millis, SeatToken, Seq, StudentId, ToBoard, VoteRow};
use tokio::sync::{mpsc, watch};
use tokio::{task, time};
use tracing::{error, info, warn};

use super::audience::{Audience, Held, To, Told};
use super::choosing::Choosing;
use super::kept::Kept;
use super::picture::{Gallery, Pictures};
use super::places::Places;
use super::recovery::CANNOT_SAVE;
use super::translate::View;
use super::turns::Turns;
use super::{ConnId, Post, RoomHandle};
use crate::chooser::Chooser;
use crate::clock::Clock;
use crate::metrics::{COUNTS, Limit, RoomShare};
use crate::outside::Outside;
use crate::reach::Reach;
use crate::roster::Roster;
use crate::secrets::TokenHash;
use crate::store::{AppendError, Batch, Log, NewReview, Saving, SeatRow, UNSAVED};

/// Posts heard at once; their events are logged together.
const HEARD: usize = 256;
/// Posts heard at once from which on it is crowded.
const CROWD: usize = 16;
/// How long an ended review answers to its word, in milliseconds.
const LINGER_MS: u64 = 600_000;

/// What a room starts from.
#[derive(Debug)]
pub(crate) struct Start {
    /// The way to it.
    pub(crate) handle: RoomHandle,
    /// Where its events go.
    pub(crate) log: Arc<dyn Log>,
    /// The server's clock.
    pub(crate) clock: Clock,
    /// Entropy and threads.
    pub(crate) outside: Arc<dyn Outside>,
    /// Its events so far; the last may not be logged yet if `opens` is set.
    pub(crate) events: Vec<Logged>,
    /// Its seats.
    pub(crate) seats: Vec<SeatRow>,
    /// Set for a review that opens now.
    pub(crate) opens: Option<NewReview>,
    /// How students reach the server.
    pub(crate) reach: Reach,
    /// Who may take a seat; anyone, unless there is one.
    pub(crate) roster: Option<Arc<Roster>>,
    /// What chooses its rounds, if it is adaptive.
    pub(crate) chooser: Option<Box<dyn Chooser>>,
    /// Pictures of its course.
    pub(crate) gallery: Arc<Gallery>,
    /// When it may tell its class.
    pub(crate) turns: Turns,
}

/// A room.
#[derive(Debug)]
pub(crate) struct Room {
    pub(super) handle: RoomHandle,
    pub(super) course: Arc<Course>,
    pub(super) log: Arc<dyn Log>,
    pub(super) clock: Clock,
    pub(super) outside: Arc<dyn Outside>,
    pub(super) reach: Reach,
    pub(super) roster: Option<Arc<Roster>>,
    pub(super) review: Review,
    pub(super) tally: Tally,
    pub(super) pictures: Pictures,
    turns: Turns,
    pub(super) places: Places,
    pub(super) choosing: Choosing,
    pub(super) seats: Seats,
    pub(super) audience: Audience,
    /// The server's time at which the review's time was `base`.
    pub(super) since: Millis,
    pub(super) base: Millis,
    /// Events applied and not yet handed to the log.
    pub(super) fresh: Fresh,
    /// The batch that the log has. Once it is taken, what happens goes together in the next one: so
    /// many answers cost the log as much as one, and each waits for two commits at most.
    pub(super) under_way: Option<Saving>,
    /// What waits for the disk, in order.
    pub(super) held: VecDeque<Held>,
    pub(super) durable: Seq,
    /// How long the open round's first clue was held back from the class.
    pub(super) round_held: Millis,
    /// Since when counts are not what was told of them.
    pub(super) counts_since: Option<Millis>,
    /// What is kept back to go out together with what follows.
    pub(super) kept: Kept,
    /// What the room was last told of who is here: present and seated.
    pub(super) class_told: (u32, u32),
    /// What the boards were last told of who is here and of the answers, while there are any.
    pub(super) boards_told: (Option<Here>, Option<ToBoard>),
    /// What the room was last told of the votes.
    pub(super) votes_told: Vec<VoteRow>,
    /// Students whose line on the roll changed since the instructors were told.
    pub(super) roll_changed: BTreeSet<StudentId>,
    /// Set while events cannot be saved: when to try again.
    pub(super) retry: Option<Millis>,
    pub(super) ended_at: Option<Millis>,
    /// What is counted of it.
    share: RoomShare,
}

/// Before what telling stops.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Before {
    /// Before what is for a class, which takes a turn.
    Class,
    /// Before what is not on disk.
    Undurable,
}

#[derive(Debug, Default)]
pub(super) struct Seats {
    pub(super) names: BTreeMap<StudentId, String>,
    tokens: BTreeMap<TokenHash, StudentId>,
}

#[derive(Debug, Default)]
pub(super) struct Fresh {
    pub(super) events: Vec<Logged>,
    pub(super) seats: Vec<SeatRow>,
    pub(super) names: Vec<(StudentId, String)>,
    pub(super) opens: Option<NewReview>,
}

impl Room {
    /// A room that goes on from its events; `None` if they are not those of a review.
    pub(crate) fn new(start: Start) -> Option<Self> {
        let review = Review::replay(&start.events)?;
        let mut tally = Tally::default();
        let mut choosing = Choosing::new(start.chooser);
        for logged in &start.events {
            tally.add(logged);
            choosing.follow(logged.seq, &logged.event);
        }
        let (durable, fresh) = match start.opens {
            Some(new) => {
                let opens = Some(new);
                let fresh = Fresh { events: start.events, opens, ..Fresh::default() };
                (Seq(0), fresh)
            }
            None => (review.seq(), Fresh::default()),
        };
        let now = start.clock.now();
        let mut room = Self {
            course: start.handle.course.clone(),
            handle: start.handle,
            log: start.log,
            clock: start.clock,
            outside: start.outside,
            reach: start.reach,
            roster: start.roster,
            base: review.at(),
            since: now,
            tally,
            pictures: Pictures::of(start.gallery),
            turns: start.turns,
            places: Places::default(),
            choosing,
            seats: Seats::default(),
            audience: Audience::default(),
            fresh,
            under_way: None,
            held: VecDeque::new(),
            durable,
            round_held: Millis(0),
            counts_since: None,
            kept: Kept::default(),
            class_told: (0, 0),
            boards_told: (None, None),
            votes_told: Vec::new(),
            roll_changed: BTreeSet::new(),
            retry: None,
            ended_at: matches!(review.phase(), Phase::Ended(_)).then_some(now),
            share: RoomShare::default(),
            review,
        };
        for seat in start.seats {
            room.seats.add(seat);
        }
        if room.durable > Seq(0) {
            room.decide(room.base, Input::Restarted, None);
        }
        Some(room)
    }

    /// Runs until the server stops or the review has been over for a while; gives the review as it
    /// then stands.
    pub(crate) async fn run(
        mut self,
        mut posts: mpsc::Receiver<Post>,
        mut stop: watch::Receiver<bool>,
    ) -> Review {
        info!(word = %self.handle.word, "room open");
        let mut heard = Vec::with_capacity(HEARD);
        let turns = self.turns.clone();
        let mut turn = pin!(turns.mine());
        loop {
            self.hand_to_log();
            self.release(Before::Class);
            if !self.waits_for_turn() {
                turn.set(turns.mine());
            }
            self.choose_next();
            self.share.follow(&self.review, self.class_told.0);
            let wake = self.wake();
            tokio::select! {
                biased;
                _ = stop.changed() => break,
                result = saved(&mut self.under_way) => {
                    if result.is_err() {
                        // Nobody waits for a room that waits for the disk.
                        turn.set(turns.mine());
                    }
                    self.on_durable(result).await;
                }
                (round, chosen) = self.choosing.chosen() => self.on_chosen(round, chosen),
                mine = &mut turn, if self.waits_for_turn() => {
                    self.release(Before::Undurable);
                    // Whoever spoke meanwhile is heard first.
                    task::yield_now().await;
                    drop(mine);
                    turn.set(turns.mine());
                }
                // A disk that is behind makes the room wait, and so the connections, not memory grow.
                got = posts.recv_many(&mut heard, HEARD), if self.fresh.events.len() < UNSAVED => {
                    if got == 0 {
                        break;
                    }
                    self.kept.is_crowded = got >= CROWD;
                    for post in heard.drain(..) {
                        self.on_post(post);
                    }
                }
                () = sleep_until(&self.clock, wake) => {
                    if self.retry.is_some() {
                        turn.set(turns.mine());
                    }
                    self.on_time().await;
                }
            }
            if self.is_done() {
                break;
            }
        }
        turn.set(turns.mine());
        self.close().await;
        info!(word = %self.handle.word, "room closed");
        self.review
    }

    pub(super) fn view(&self) -> View<'_> {
        View {
            review: &self.review,
            course: &self.course,
            names: &self.seats.names,
            tally: &self.tally,
            pictures: &self.pictures,
            places: &self.places,
        }
    }

    /// The review's time at a time of the server.
    pub(super) fn review_time(&self, at: Millis) -> Millis {
        self.base.plus(at.minus(self.since))
    }

    /// The server's time at which the room has to look again without being asked.
    fn wake(&self) -> Option<Millis> {
        let server_time = |at: Millis| self.since.plus(at.minus(self.base));
        let review = match self.retry {
            Some(_) => None,
            None => self.review.next_wakeup().map(server_time),
        };
        review
            .into_iter()
            .chain(self.counts_due())
            .chain(self.kept.due())
            .chain(self.retry)
            .chain(self.lingers_until())
            .min()
    }

    async fn on_time(&mut self) {
        let now = self.clock.now();
        if self.retry.is_some_and(|due| now >= due) {
            self.try_again().await;
        }
        if self.counts_due().is_some_and(|due| now >= due) {
            self.counts_since = None;
            self.tell_counts();
        }
        if self.kept.due().is_some_and(|due| now >= due) {
            self.send_kept();
        }
        if self.retry.is_none() {
            self.settle(self.review_time(now));
        }
    }

    fn on_post(&mut self, post: Post) {
        match post {
            Post::Enter { conn, line, entrant, at } => self.enter(conn, line, *entrant, at),
            Post::Said { conn, said, at, round_trip } => {
                if self.retry.is_some() {
                    self.refuse(conn, ErrorCode::CannotSave, CANNOT_SAVE);
                } else {
                    self.said(conn, said, at, round_trip);
                }
            }
            Post::Gone { conn, at } => {
                if let Some(student) = self.audience.leave(conn) {
                    self.away(student, at);
                }
            }
        }
    }

    pub(super) fn away(&mut self, student: StudentId, at: Millis) {
        if self.retry.is_none() {
            let input = Input::Away { student, left: false };
            self.decide(self.review_time(at), input, None);
        }
        self.counts_soon();
    }

    /// Hands what is fresh to the log: in the batch that it has, or after that in one of its own.
    pub(super) fn hand_to_log(&mut self) {
        if self.fresh.events.is_empty() {
            return;
        }
        let Fresh { events, seats, names, opens } = std::mem::take(&mut self.fresh);
        let after = events.first().map_or(Seq(0), |first| Seq(first.seq.0 - 1));
        let batch = Batch { review: self.handle.review, after, events, seats, names, opens };
        match &self.under_way {
            None => self.under_way = Some(self.log.append(batch)),
            Some(saving) => {
                let Some(Batch { events, seats, names, opens, .. }) = saving.add(batch) else {
                    return;
                };
                if events.len() >= UNSAVED {
                    COUNTS.limits.one(Limit::Unsaved);
                }
                self.fresh = Fresh { events, seats, names, opens };
            }
        }
    }

    async fn on_durable(&mut self, result: Result<Seq, AppendError>) {
        match result {
            Ok(seq) => {
                self.durable = seq;
                // The log is at the next batch while this one is told.
                self.hand_to_log();
                self.release(Before::Class);
                if seq == self.review.seq() {
                    self.send_kept();
                }
            }
            Err(fault) => {
                error!(word = %self.handle.word, %fault, "events not saved; the round is skipped");
                self.fall_back().await;
            }
        }
    }

    /// Whether something is to be told to a class, which takes a turn.
    fn waits_for_turn(&self) -> bool {
        let next = self.held.front();
        next.is_some_and(|held| held.needs <= self.durable && self.is_for_class(held))
    }

    fn is_for_class(&self, held: &Held) -> bool {
        held.told.to == To::All && self.turns.are_for(self.audience.len())
    }

    /// Tells in order what rests on the disk.
    fn release(&mut self, before: Before) {
        while let Some(held) = self.held.front()
            && held.needs <= self.durable
            && !(before == Before::Class && self.is_for_class(held))
        {
            let Some(Held { needs, of_event, told }) = self.held.pop_front() else { return };
            self.send(of_event.then_some(needs), &told);
            if let Phase::Open(round) = self.review.phase()
                && of_event
                && needs == round.opened_seq()
            {
                let now = self.review_time(self.clock.now());
                self.round_held = now.minus(round.opened_at());
            }
        }
    }

    pub(super) fn send(&mut self, event: Option<Seq>, told: &Told) {
        for conn in self.audience.send(event, told) {
            self.lost(conn);
        }
    }

    /// A connection is gone or too slow.
    pub(super) fn lost(&mut self, conn: ConnId) {
        warn!(conn = conn.0, "connection gone or too slow; its seat is kept");
        if let Some(student) = self.audience.leave(conn) {
            self.away(student, self.clock.now());
        }
    }

    fn is_done(&self) -> bool {
        self.lingers_until().is_some_and(|until| self.clock.now() >= until)
    }

    /// Until when a review that is over answers to its word; `None` while there is something left
    /// to tell, or an instructor looks at its end.
    fn lingers_until(&self) -> Option<Millis> {
        let told = self.held.is_empty() && self.under_way.is_none();
        let ended_at = self.ended_at.filter(|_| told && !self.audience.has_instructor())?;
        Some(ended_at.plus(Millis(LINGER_MS)))
    }

    /// Waits for the disk, tells what rests on it, and says goodbye. Seats are kept.
    async fn close(&mut self) {
        self.hand_to_log();
        while self.under_way.is_some()
            && let Ok(seq) = saved(&mut self.under_way).await
        {
            self.durable = seq;
            self.release(Before::Undurable);
            // What happened meanwhile; and whoever was found gone just now is away.
            self.hand_to_log();
        }
        let why = "the server stops; come back when it is up again";
        self.audience.send(None, &Told::close(To::All, close::AWAY, why));
    }
}

impl Seats {
    /// Whose seat a token is.
    pub(super) fn student(&self, token: &SeatToken) -> Option<StudentId> {
        self.tokens.get(&TokenHash::of(token.reveal())).copied()
    }

    /// Whether a token is known here.
    pub(super) fn holds(&self, token: &SeatToken) -> bool {
        self.student(token).is_some()
    }

    pub(super) fn add(&mut self, row: SeatRow) {
        self.tokens.insert(row.token, row.student);
        self.names.insert(row.student, row.name);
    }
}

/// Waits until the batch that the log has is on disk; for ever, if it has none.
pub(super) async fn saved(under_way: &mut Option<Saving>) -> Result<Seq, AppendError> {
    let Some(saving) = under_way else { return pending().await };
    let result = saving.done().await;
    *under_way = None;
    result
}

async fn sleep_until(clock: &Clock, wake: Option<Millis>) {
    match wake {
        Some(at) => time::sleep_until(clock.instant(at)).await,
        None => time::sleep(Duration::from_hours(1)).await,
    }
}
