//! What is said in the room: deciding on it, replying, and making it so.

use myonym_engine::{Answering, Command, Event, Input, Logged, Phase, Reply, timing::Sight};
use myonym_wire::limits::{ANSWER_CHARS, close};
use myonym_wire::{ErrorCode, FromInstructor, FromStudent, Millis, ToInstructor, ToStudent};
use tracing::{debug, error};

use super::audience::{Held, To, Told, Who};
use super::task::Room;
use super::translate;
use super::voting;
use super::{ConnId, Said};
use crate::metrics::{COUNTS, Limit, term};

/// How often counts (who is here, answers in) are told at most, in milliseconds.
const COUNTS_MS: u64 = 250;
/// Connections for each millisecond between two counts: to tell a class takes some 5 us a student,
/// and shall take a hundredth of the time, so that to join costs the same in a room of any size.
const COUNTED_A_MS: usize = 2;
/// Lines of the roll in one message, some 100 KiB: of a hall that comes in at once they would be more
/// than a client takes.
const ROLL: usize = 1_000;

impl Room {
    pub(super) fn said(
        &mut self,
        conn: ConnId,
        said: Said,
        at: Millis,
        round_trip: Option<Millis>,
    ) {
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
                    COUNTS.limits.one(Limit::Answer);
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
            (Some(Who::Student(student)), Said::Student(from)) => {
                let Some(input) = voting::wish(student, &from) else { return };
                input
            }
            (Some(Who::Instructor), Said::Instructor(FromInstructor::Rename { student, name })) => {
                return self.rename(conn, student, &name, now);
            }
            (Some(Who::Instructor), Said::Instructor(from)) => Input::Command(command(&from)),
            // A connection that was let go may still have messages on their way.
            (None | Some(_), _) => return,
        };
        self.decide(now, input, Some(conn));
    }

    /// Decides, replies, makes it so, and lets time do the rest.
    pub(super) fn decide(&mut self, now: Millis, input: Input, from: Option<ConnId>) {
        let decision = self.review.decide(&self.course, now, input);
        self.make(now, decision.events);
        if let (Some(reply), Some(conn)) = (decision.reply, from) {
            self.reply(conn, reply);
        }
        self.settle(now);
    }

    /// Lets happen what time makes happen. Each step changes the phase or shows a clue, so this
    /// ends; the bound stands against a fault in the rules.
    pub(super) fn settle(&mut self, now: Millis) {
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
    pub(super) fn make(&mut self, now: Millis, events: Vec<Event>) {
        for event in events {
            if matches!(event, Event::RoundClosed { .. }) {
                // The last answers belong to what the instructor sees of the closed round.
                self.tell_counts();
            }
            let logged = Logged { seq: self.review.seq().next(), at: now, event };
            self.review.apply(&logged);
            self.places.follow(&logged.event);
            self.tally.add(&logged);
            self.choosing.follow(logged.seq, &logged.event);
            self.pictures.follow(&self.course, &self.review);
            for told in self.view().tell(&logged) {
                self.held.push_back(Held { needs: logged.seq, of_event: true, told });
            }
            self.tell_votes(logged.seq);
            if matches!(logged.event, Event::Ended { .. }) {
                self.ended_at = Some(self.clock.now());
            }
            if let Some(student) = translate::roll_change(&logged.event) {
                self.roll_changed.insert(student);
                self.counts_soon();
            }
            self.fresh.events.push(logged);
        }
    }

    pub(super) fn reply(&mut self, conn: ConnId, reply: Reply) {
        match reply {
            Reply::Refused(refusal) => {
                let (code, why) = translate::refused(refusal);
                self.refuse(conn, code, why);
            }
            Reply::Received { round, attempt } => {
                COUNTS.received.one();
                let received = ToStudent::Received { round, attempt };
                self.tell_soon(conn, &Told::text(To::Conn(conn), &received));
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
    pub(super) fn tell_now(&mut self, conn: ConnId, message: &ToStudent) {
        self.send(None, &Told::text(To::Conn(conn), message));
    }

    pub(super) fn refuse(&mut self, conn: ConnId, code: ErrorCode, why: &str) {
        COUNTS.refused.one(code);
        debug!(word = %self.handle.word, conn = conn.0, code = term(&code), "refused");
        self.tell_now(conn, &ToStudent::Error { code, message: why.to_owned() });
    }

    /// Tells something once all that has happened is on disk.
    pub(super) fn hold(&mut self, told: Told) {
        self.held.push_back(Held { needs: self.review.seq(), of_event: false, told });
    }

    /// Counts wait while nothing can be saved: they would rest on events that may be gone.
    pub(super) fn counts_soon(&mut self) {
        if self.retry.is_none() {
            self.counts_since.get_or_insert_with(|| self.clock.now());
        }
    }

    /// When counts are told. The more come in meanwhile, the later: a hall that fills is told of it
    /// when most are in.
    pub(super) fn counts_due(&self) -> Option<Millis> {
        let many = u64::try_from(self.audience.len() / COUNTED_A_MS).unwrap_or(u64::MAX);
        Some(self.counts_since?.plus(Millis(many.max(COUNTS_MS))))
    }

    /// Tells who is here, if that changed, and the instructors what changed on the roll and how the
    /// open round stands.
    pub(super) fn tell_counts(&mut self) {
        let present = translate::count(self.review.present());
        let seated = translate::count(self.review.seats().len());
        if self.class_told != (present, seated) {
            self.class_told = (present, seated);
            self.hold(Told::text(To::All, &ToStudent::Class { present, seated }));
        }
        self.tell_boards();
        let changed = std::mem::take(&mut self.roll_changed);
        let rows: Vec<_> =
            changed.into_iter().filter_map(|who| self.view().roll_row(who)).collect();
        for rows in rows.chunks(ROLL) {
            let roll = ToInstructor::Roll { rows: rows.to_vec() };
            self.hold(Told::text(To::Instructors, &roll));
        }
        if let Phase::Open(round) = self.review.phase() {
            let tally = ToInstructor::Tally {
                round: round.round,
                answered: translate::count(round.answers.len()),
                here: translate::count(round.here()),
                spread: translate::spread_rows(myonym_engine::spread(round.task, &round.answers)),
                asked_again: round.asked_again,
            };
            self.hold(Told::text(To::Instructors, &tally));
        }
    }
}

fn command(from: &FromInstructor) -> Command {
    match from {
        FromInstructor::Start {} => Command::Start,
        FromInstructor::Next {} => Command::Next,
        FromInstructor::CloseRound {} => Command::CloseRound,
        FromInstructor::Reveal {} => Command::Reveal,
        FromInstructor::Skip {} => Command::Skip,
        FromInstructor::Pause {} => Command::Pause,
        FromInstructor::Resume {} => Command::Resume,
        FromInstructor::Remove { student } => Command::Remove(*student),
        FromInstructor::Rename { student, .. } => Command::Rename(*student),
        FromInstructor::Stretch { student, time } => Command::Stretch(*student, *time),
        FromInstructor::End {} => Command::End,
    }
}
