//! The task that owns a review.

use std::collections::{BTreeMap, VecDeque};
use std::sync::Arc;
use std::time::Duration;

use futures_util::StreamExt as _;
use futures_util::stream::FuturesOrdered;
use myonym_content::Course;
use myonym_engine::{
    Answering, Command, Event, Input, Logged, Phase, Reply, Review, timing::Sight,
};
use myonym_insight::Tally;
use myonym_wire::limits::{ANSWER_CHARS, close};
use myonym_wire::{
    ErrorCode, FromInstructor, FromStudent, Millis, SeatToken, Seq, StudentId, ToInstructor,
    ToStudent, Trouble,
};
use tokio::sync::{mpsc, oneshot, watch};
use tokio::time;
use tracing::{error, info, warn};

use super::audience::{Audience, To, Told, Who};
use super::translate::{self, View};
use super::{ConnId, Entrant, Line, Out, Post, RoomHandle, Said};
use crate::clock::Clock;
use crate::secrets::{self, TokenHash};
use crate::store::{AppendError, Batch, Log, NewReview, SeatRow};

/// Posts taken in one turn; their events are logged together.
const TURN: usize = 256;
/// Appends under way before the room waits for the disk.
const UNDER_WAY: usize = 64;
/// How often counts (who is here, answers in) are told at most, in milliseconds.
const COUNTS_MS: u64 = 250;
/// How long to wait before saving is tried again, in milliseconds.
const RETRY_MS: u64 = 1_000;
/// How long an ended review answers to its word, in milliseconds.
const LINGER_MS: u64 = 600_000;
/// Seats in one room.
const SEATS: usize = 20_000;

/// What a room starts from.
#[derive(Debug)]
pub(crate) struct Start {
    /// The way to it.
    pub(crate) handle: RoomHandle,
    /// The muscle list made ready.
    pub(crate) course: Arc<Course>,
    /// Where its events go.
    pub(crate) log: Arc<dyn Log>,
    /// The server's clock.
    pub(crate) clock: Clock,
    /// Its events so far; the last may not be logged yet if `opens` is set.
    pub(crate) events: Vec<Logged>,
    /// Its seats.
    pub(crate) seats: Vec<SeatRow>,
    /// Set for a review that opens now.
    pub(crate) opens: Option<NewReview>,
    /// Addresses at which students reach the server.
    pub(crate) addresses: Vec<String>,
}

/// A room.
#[derive(Debug)]
pub(crate) struct Room {
    handle: RoomHandle,
    course: Arc<Course>,
    log: Arc<dyn Log>,
    clock: Clock,
    addresses: Vec<String>,
    review: Review,
    tally: Tally,
    seats: Seats,
    audience: Audience,
    /// The server's time at which the review's time was `base`.
    since: Millis,
    base: Millis,
    /// Events applied and not yet handed to the log.
    fresh: Fresh,
    under_way: FuturesOrdered<oneshot::Receiver<Result<Seq, AppendError>>>,
    /// What waits for the disk, in order.
    held: VecDeque<(Seq, Told)>,
    durable: Seq,
    /// How long the open round's first clue was held back from the class.
    round_held: Millis,
    counts_due: Option<Millis>,
    /// Set while events cannot be saved: when to try again.
    retry: Option<Millis>,
    ended_at: Option<Millis>,
}

#[derive(Debug, Default)]
struct Seats {
    names: BTreeMap<StudentId, String>,
    tokens: BTreeMap<TokenHash, StudentId>,
}

#[derive(Debug, Default)]
struct Fresh {
    events: Vec<Logged>,
    seats: Vec<SeatRow>,
    opens: Option<NewReview>,
}

impl Room {
    /// A room that goes on from its events; `None` if they are not those of a review.
    pub(crate) fn new(start: Start) -> Option<Self> {
        let review = Review::replay(&start.events)?;
        let mut tally = Tally::default();
        start.events.iter().for_each(|logged| tally.add(logged));
        let (durable, fresh) = match start.opens {
            Some(new) => {
                let fresh = Fresh { events: start.events, seats: Vec::new(), opens: Some(new) };
                (Seq(0), fresh)
            }
            None => (review.seq(), Fresh::default()),
        };
        let now = start.clock.now();
        let mut room = Self {
            handle: start.handle,
            course: start.course,
            log: start.log,
            clock: start.clock,
            addresses: start.addresses,
            base: review.at(),
            since: now,
            tally,
            seats: Seats::default(),
            audience: Audience::default(),
            fresh,
            under_way: FuturesOrdered::new(),
            held: VecDeque::new(),
            durable,
            round_held: Millis(0),
            counts_due: None,
            retry: None,
            ended_at: matches!(review.phase(), Phase::Ended(_)).then_some(now),
            review,
        };
        start.seats.into_iter().for_each(|seat| room.seats.add(seat));
        if room.durable > Seq(0) {
            room.decide(room.base, Input::Restarted, None);
        }
        Some(room)
    }

    /// Runs until the server stops or the review has been over for a while.
    pub(crate) async fn run(
        mut self,
        mut posts: mpsc::Receiver<Post>,
        mut stop: watch::Receiver<bool>,
    ) {
        info!(word = %self.handle.word, "room open");
        let mut turn = Vec::with_capacity(TURN);
        loop {
            self.hand_to_log();
            self.release(self.durable);
            let wake = self.wake();
            tokio::select! {
                biased;
                _ = stop.changed() => break,
                Some(result) = self.under_way.next() => self.on_durable(result).await,
                // A full disk queue makes the room wait, and so the connections, not memory grow.
                got = posts.recv_many(&mut turn, TURN), if self.under_way.len() < UNDER_WAY => {
                    if got == 0 {
                        break;
                    }
                    for post in turn.drain(..) {
                        self.on_post(post);
                    }
                }
                () = sleep_until(&self.clock, wake) => self.on_time().await,
            }
            if self.is_done() {
                break;
            }
        }
        self.close().await;
        info!(word = %self.handle.word, "room closed");
    }

    fn view(&self) -> View<'_> {
        View {
            review: &self.review,
            course: &self.course,
            names: &self.seats.names,
            tally: &self.tally,
        }
    }

    /// The review's time at a time of the server.
    fn review_time(&self, at: Millis) -> Millis {
        self.base.plus(at.minus(self.since))
    }

    /// The server's time at which the room has to look again without being asked.
    fn wake(&self) -> Option<Millis> {
        let server_time = |at: Millis| self.since.plus(at.minus(self.base));
        let review = match self.retry {
            Some(_) => None,
            None => self.review.next_wakeup().map(server_time),
        };
        let linger = self.ended_at.map(|at| at.plus(Millis(LINGER_MS)));
        review.into_iter().chain(self.counts_due).chain(self.retry).chain(linger).min()
    }

    async fn on_time(&mut self) {
        let now = self.clock.now();
        if self.retry.is_some_and(|due| now >= due) {
            self.try_again().await;
        }
        if self.counts_due.is_some_and(|due| now >= due) {
            self.counts_due = None;
            self.tell_counts();
        }
        if self.retry.is_none() {
            self.settle(self.review_time(now));
        }
    }

    fn on_post(&mut self, post: Post) {
        match post {
            Post::Enter { conn, line, entrant, at } => self.enter(conn, line, entrant, at),
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

    fn away(&mut self, student: StudentId, at: Millis) {
        if self.retry.is_none() {
            let input = Input::Away { student, left: false };
            self.decide(self.review_time(at), input, None);
        }
        self.counts_soon();
    }

    fn enter(&mut self, conn: ConnId, line: Line, entrant: Entrant, at: Millis) {
        if self.retry.is_some() {
            return turn_away(&line, ErrorCode::CannotSave, CANNOT_SAVE, close::AWAY);
        }
        let now = self.review_time(at);
        match entrant {
            Entrant::Conduct { key } => {
                self.audience.enter(conn, Who::Instructor, line, self.review.seq());
                self.tell_conducting(conn, now, key);
            }
            Entrant::Join { name, listed } => self.join(conn, line, name, listed, now),
            Entrant::Return { seat } => self.come_back(conn, line, &seat, now),
        }
        self.counts_soon();
    }

    fn join(&mut self, conn: ConnId, line: Line, name: String, listed: bool, now: Millis) {
        if self.review.seats().len() >= SEATS {
            let why = "this review has no seat left; ask the instructor";
            return turn_away(&line, ErrorCode::RoomFull, why, close::POLICY);
        }
        let student = secrets::student_id();
        let decision = self.review.decide(&self.course, now, Input::Seat { student, listed });
        if let Some(Reply::Refused(refusal)) = decision.reply {
            let (code, why) = translate::refused(refusal);
            return turn_away(&line, code, why, close::POLICY);
        }
        let token = secrets::seat_token();
        let row = SeatRow { student, token: TokenHash::of(token.reveal()), name };
        self.fresh.seats.push(row.clone());
        self.seats.add(row);
        self.make(now, decision.events);
        self.audience.enter(conn, Who::Student(student), line, self.review.seq());
        self.tell_seated(conn, student, now, Some(token));
        self.settle(now);
    }

    fn come_back(&mut self, conn: ConnId, line: Line, seat: &SeatToken, now: Millis) {
        let known = self.seats.tokens.get(&TokenHash::of(seat.reveal())).copied();
        let Some(student) = known.filter(|student| self.review.seats().contains_key(student))
        else {
            let why = "that seat is not in this review; join anew";
            return turn_away(&line, ErrorCode::NotAllowed, why, close::POLICY);
        };
        let decision = self.review.decide(&self.course, now, Input::Back(student));
        self.make(now, decision.events);
        let from = self.review.seq();
        if let Some(before) = self.audience.enter(conn, Who::Student(student), line, from) {
            before.send(Out::Close(close::SEAT_TAKEN, "your seat was taken from elsewhere"));
        }
        self.tell_seated(conn, student, now, None);
        if let Phase::Ended(_) = self.review.phase() {
            self.hold(Told::close(To::Conn(conn), close::NORMAL, "the review is over"));
        }
        self.settle(now);
    }

    fn said(&mut self, conn: ConnId, said: Said, at: Millis, round_trip: Option<Millis>) {
        let now = self.review_time(at);
        let input = match (self.audience.who(conn), said) {
            (Some(Who::Student(student)), Said::Student(FromStudent::Leave {})) => {
                self.hold(Told::close(To::Conn(conn), close::NORMAL, "you left"));
                Input::Away { student, left: true }
            }
            (
                Some(Who::Student(student)),
                Said::Student(FromStudent::Answer { round, attempt, text, elapsed_ms }),
            ) => {
                if text.chars().count() > ANSWER_CHARS {
                    return self.refuse(
                        conn,
                        ErrorCode::BadField,
                        "an answer has at most 80 characters",
                    );
                }
                let sight = Sight { held: self.round_held, round_trip };
                let claimed = Millis(elapsed_ms);
                Input::Answer(Answering { student, round, attempt, text, claimed, sight })
            }
            (Some(Who::Instructor), Said::Instructor(from)) => Input::Command(command(from)),
            // A connection that was let go may still have messages on their way.
            (None | Some(_), _) => return,
        };
        self.decide(now, input, Some(conn));
    }

    /// Decides, replies, makes it so, and lets time do the rest.
    fn decide(&mut self, now: Millis, input: Input, from: Option<ConnId>) {
        let decision = self.review.decide(&self.course, now, input);
        self.make(now, decision.events);
        if let (Some(reply), Some(conn)) = (decision.reply, from) {
            self.reply(conn, reply);
        }
        self.settle(now);
    }

    /// Lets happen what time makes happen. Each step changes the phase or shows a clue, so this
    /// ends; the bound stands against a fault in the rules.
    fn settle(&mut self, now: Millis) {
        for _ in 0..64 {
            let events = self.review.decide(&self.course, now, Input::Tick).events;
            if events.is_empty() {
                return;
            }
            self.make(now, events);
        }
        error!(word = %self.handle.word, "the rules did not settle");
    }

    /// Applies events at once and holds back what is told of them.
    fn make(&mut self, now: Millis, events: Vec<Event>) {
        for event in events {
            let logged = Logged { seq: self.review.seq().next(), at: now, event };
            self.review.apply(&logged);
            self.tally.add(&logged);
            for told in self.view().tell(&logged) {
                self.held.push_back((logged.seq, told));
            }
            match logged.event {
                Event::Ended { .. } => self.ended_at = Some(self.clock.now()),
                Event::Answered(_) | Event::AskedAgain { .. } | Event::Away { .. } => {
                    self.counts_soon();
                }
                _ => {}
            }
            self.fresh.events.push(logged);
        }
    }

    fn reply(&mut self, conn: ConnId, reply: Reply) {
        match reply {
            Reply::Refused(refusal) => {
                let (code, why) = translate::refused(refusal);
                self.refuse(conn, code, why);
            }
            Reply::Received { round, attempt } => {
                self.tell_now(conn, &ToStudent::Received { round, attempt });
            }
            Reply::Taken { round, attempt } => {
                self.tell_now(conn, &ToStudent::Received { round, attempt });
                self.hold(Told::text(To::Conn(conn), &ToStudent::Recorded { round, attempt }));
            }
            Reply::AskedBefore { round, attempt, why, among } => {
                let again = translate::asked_again(round, attempt, why, among);
                self.hold(Told::text(To::Conn(conn), &again));
            }
        }
    }

    /// Tells something that rests on no event.
    fn tell_now(&mut self, conn: ConnId, message: &ToStudent) {
        self.send(Seq(0), &Told::text(To::Conn(conn), message));
    }

    fn refuse(&mut self, conn: ConnId, code: ErrorCode, why: &str) {
        self.tell_now(conn, &ToStudent::Error { code, message: why.to_owned() });
    }

    /// Tells something once all that has happened is on disk.
    fn hold(&mut self, told: Told) {
        self.held.push_back((self.review.seq(), told));
    }

    fn tell_seated(
        &mut self,
        conn: ConnId,
        student: StudentId,
        now: Millis,
        seat: Option<SeatToken>,
    ) {
        let view = self.view();
        let own = self.review.seats().get(&student);
        let message = ToStudent::Seated {
            seq: self.review.seq(),
            student,
            seat,
            name: view.name(student),
            review: view.info(&self.handle.word),
            time: own.map(|seat| seat.time).unwrap_or_default(),
            total: own.map(|seat| seat.total).unwrap_or_default().as_f64(),
            present: translate::count(self.review.present()),
            moment: Box::new(view.moment(now, Some(student))),
        };
        self.hold(Told::text(To::Conn(conn), &message));
    }

    fn tell_conducting(&mut self, conn: ConnId, now: Millis, key: Option<myonym_wire::HostKey>) {
        let view = self.view();
        let message = ToInstructor::Conducting {
            seq: self.review.seq(),
            key,
            review: view.info(&self.handle.word),
            addresses: self.addresses.clone(),
            moment: Box::new(view.moment(now, None)),
            roll: view.roll(),
            weak_spots: view.weak_spots(),
        };
        self.hold(Told::text(To::Conn(conn), &message));
    }

    fn counts_soon(&mut self) {
        if self.counts_due.is_none() {
            self.counts_due = Some(self.clock.now().plus(Millis(COUNTS_MS)));
        }
    }

    fn tell_counts(&mut self) {
        let present = translate::count(self.review.present());
        let seated = translate::count(self.review.seats().len());
        self.hold(Told::text(To::All, &ToStudent::Class { present, seated }));
        if let Phase::Open(round) = self.review.phase() {
            let tally = ToInstructor::Tally {
                round: round.round,
                answered: translate::count(round.answers.len()),
                present,
                spread: translate::spread_rows(myonym_engine::spread(&round.answers)),
                asked_again: round.asked_again,
            };
            self.hold(Told::text(To::Instructors, &tally));
        }
    }

    /// Hands what is fresh to the log as one batch.
    fn hand_to_log(&mut self) {
        if self.fresh.events.is_empty() {
            return;
        }
        let Fresh { events, seats, opens } = std::mem::take(&mut self.fresh);
        let after = events.first().map_or(Seq(0), |first| Seq(first.seq.0 - 1));
        let batch = Batch { review: self.handle.review, after, events, seats, opens };
        self.under_way.push_back(self.log.append(batch));
    }

    async fn on_durable(
        &mut self,
        result: Result<Result<Seq, AppendError>, oneshot::error::RecvError>,
    ) {
        match result.unwrap_or(Err(AppendError::Closed)) {
            Ok(seq) => {
                self.durable = seq;
                self.release(seq);
            }
            Err(fault) => {
                error!(word = %self.handle.word, %fault, "events not saved; the round is skipped");
                self.fall_back().await;
            }
        }
    }

    /// Tells what rests on events up to `seq`.
    fn release(&mut self, seq: Seq) {
        while self.held.front().is_some_and(|(needs, _)| *needs <= seq) {
            let Some((needs, told)) = self.held.pop_front() else { return };
            self.send(needs, &told);
            if let Phase::Open(round) = self.review.phase()
                && needs == round.opened_seq()
            {
                let now = self.review_time(self.clock.now());
                self.round_held = now.minus(round.opened_at());
            }
        }
    }

    fn send(&mut self, seq: Seq, told: &Told) {
        for conn in self.audience.send(seq, told) {
            warn!(conn = conn.0, "connection gone or too slow; its seat is kept");
            if let Some(student) = self.audience.leave(conn) {
                self.away(student, self.clock.now());
            }
        }
    }

    /// Goes back to what is on disk after an append failed, and tells everyone.
    async fn fall_back(&mut self) {
        // Batches behind the failed one follow events that are not there: they fail as well.
        while self.under_way.next().await.is_some() {}
        self.fresh = Fresh::default();
        self.held.clear();
        self.counts_due = None;
        self.retry = Some(self.clock.now().plus(Millis(RETRY_MS)));
        self.reload().await;
        let told = Told::text(To::All, &ToStudent::Trouble { trouble: Trouble::CannotSave });
        self.audience.send(self.review.seq().next(), &told);
    }

    /// Reads the review back from the log; if that fails too, it is tried again later.
    async fn reload(&mut self) {
        let (log, review) = (self.log.clone(), self.handle.review);
        let read = tokio::task::spawn_blocking(move || {
            Ok::<_, crate::store::StoreError>((log.read(review, Seq(0))?, log.seats(review)?))
        });
        let Ok(Ok((events, seats))) = read.await else { return };
        let Some(back) = Review::replay(&events) else { return };
        self.tally = Tally::default();
        events.iter().for_each(|logged| self.tally.add(logged));
        self.seats = Seats::default();
        seats.into_iter().for_each(|seat| self.seats.add(seat));
        self.durable = back.seq();
        self.ended_at = None;
        self.review = back;
        self.drop_unseated();
    }

    /// Students whose seat did not reach the disk have to join anew.
    fn drop_unseated(&mut self) {
        for (conn, who) in self.audience.everyone() {
            if let Who::Student(student) = who
                && !self.review.seats().contains_key(&student)
            {
                let told = Told::close(To::Conn(conn), close::AWAY, "not saved; join anew");
                self.audience.send(Seq(0), &told);
                self.audience.leave(conn);
            }
        }
    }

    /// Tries to save again: the round that lost answers is skipped, and presence is set right.
    async fn try_again(&mut self) {
        self.reload().await;
        let now = self.review_time(self.clock.now());
        let mut events = match self.review.phase() {
            Phase::Open(round) => vec![Event::RoundSkipped { round: round.round }],
            Phase::Gathering
            | Phase::Closed(_)
            | Phase::Revealed
            | Phase::Skipped { .. }
            | Phase::Ended(_) => Vec::new(),
        };
        events.push(Event::Restarted {});
        events.extend(self.audience.students().map(|student| Event::Back { student }));
        self.make(now, events);
        self.hand_to_log();
        let saved = matches!(self.under_way.next().await, Some(Ok(Ok(_))));
        if !saved {
            self.fresh = Fresh::default();
            self.held.clear();
            self.retry = Some(self.clock.now().plus(Millis(RETRY_MS)));
            return self.reload().await;
        }
        info!(word = %self.handle.word, "saving works again");
        self.retry = None;
        self.durable = self.review.seq();
        self.hold(Told::text(To::All, &ToStudent::Trouble { trouble: Trouble::SavingAgain }));
        for (conn, who) in self.audience.everyone() {
            match who {
                Who::Student(student) => self.tell_seated(conn, student, now, None),
                Who::Instructor => self.tell_conducting(conn, now, None),
            }
            self.audience.renew(conn, self.review.seq());
        }
    }

    fn is_done(&self) -> bool {
        let lingered = Millis(LINGER_MS);
        self.held.is_empty()
            && self.under_way.is_empty()
            && self.ended_at.is_some_and(|at| self.clock.now().minus(at) >= lingered)
    }

    /// Waits for the disk, tells what rests on it, and says goodbye. Seats are kept.
    async fn close(&mut self) {
        self.hand_to_log();
        while let Some(result) = self.under_way.next().await {
            if let Ok(Ok(seq)) = result {
                self.durable = seq;
                self.release(seq);
            }
        }
        let why = "the server stops; come back when it is up again";
        self.audience.send(Seq(u64::MAX), &Told::close(To::All, close::AWAY, why));
    }
}

impl Seats {
    fn add(&mut self, row: SeatRow) {
        self.tokens.insert(row.token, row.student);
        self.names.insert(row.student, row.name);
    }
}

const CANNOT_SAVE: &str = "answers cannot be saved just now; wait a moment and try again";

/// Refuses a connection that did not get in.
fn turn_away(line: &Line, code: ErrorCode, why: &'static str, end: u16) {
    let error = ToStudent::Error { code, message: why.to_owned() };
    line.send(Out::Text(myonym_wire::encode(&error).into()));
    line.send(Out::Close(end, why));
}

fn command(from: FromInstructor) -> Command {
    match from {
        FromInstructor::Start {} => Command::Start,
        FromInstructor::Next {} => Command::Next,
        FromInstructor::CloseRound {} => Command::CloseRound,
        FromInstructor::Reveal {} => Command::Reveal,
        FromInstructor::Skip {} => Command::Skip,
        FromInstructor::Pause {} => Command::Pause,
        FromInstructor::Resume {} => Command::Resume,
        FromInstructor::Remove { student } => Command::Remove(student),
        FromInstructor::Stretch { student, time } => Command::Stretch(student, time),
        FromInstructor::End {} => Command::End,
    }
}

async fn sleep_until(clock: &Clock, wake: Option<Millis>) {
    match wake {
        Some(at) => time::sleep_until(clock.instant(at)).await,
        None => time::sleep(Duration::from_secs(3_600)).await,
    }
}
