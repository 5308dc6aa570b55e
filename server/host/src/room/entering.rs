//! Coming in: joining, returning, conducting, watching.

use myonym_engine::{Input, Phase, Reply};
use myonym_wire::limits::close;
use myonym_wire::{ErrorCode, HostKey, Millis, SeatToken, StudentId, ToInstructor, ToStudent};
use tracing::{debug, info};

use super::audience::{To, Told, Who};
use super::board::BOARDS;
use super::recovery::CANNOT_SAVE;
use super::task::Room;
use super::translate;
use super::{ConnId, Entrant, Line, Out};
use crate::framed::Framed;
use crate::gate::{REFUSED, WAIT};
use crate::metrics::{COUNTS, Limit, term};
use crate::pseudonyms::PersonHash;
use crate::reach::Reach;
use crate::secrets::{self, TokenHash};
use crate::store::SeatRow;

/// Seats in one room.
const SEATS: usize = 20_000;

/// What a new seat is made of.
pub(super) struct NewSeat {
    name: String,
    listed: bool,
    token: SeatToken,
    person: Option<PersonHash>,
    group: Option<String>,
}

impl Room {
    pub(super) fn enter(&mut self, conn: ConnId, line: Line, entrant: Entrant, at: Millis) {
        if self.retry.is_some() {
            return self.turn_away(conn, &line, ErrorCode::CannotSave, CANNOT_SAVE, close::AWAY);
        }
        let now = self.review_time(at);
        // A review that goes on after a restart draws its picture for the first who comes.
        self.pictures.follow(&self.course, &self.review);
        match entrant {
            Entrant::Conduct { key } => {
                self.audience.enter(conn, Who::Instructor, line, self.review.seq());
                self.is_in(conn, "conduct");
                self.tell_conducting(conn, now, key);
                self.tell_beside(conn);
            }
            Entrant::Watch if self.audience.boards() >= BOARDS => {
                COUNTS.limits.one(Limit::Boards);
                let why = "this review has as many boards as it can; close one of them";
                return self.turn_away(conn, &line, ErrorCode::RoomFull, why, close::POLICY);
            }
            Entrant::Watch => {
                self.audience.enter(conn, Who::Board, line, self.review.seq());
                self.is_in(conn, "watch");
                self.tell_watching(conn, now);
                self.tell_beside(conn);
            }
            // The same wish to join, sent again because its answer was lost.
            Entrant::Join { seat: Some(seat), .. } if self.seats.holds(&seat) => {
                let told = Some(seat.clone());
                self.come_back(conn, line, &seat, told, now);
            }
            Entrant::Join { name, listed, seat, person, group } => {
                let token = seat.unwrap_or_else(|| secrets::seat_token(self.outside.bits()));
                self.join(conn, line, NewSeat { name, listed, token, person, group }, now);
            }
            Entrant::Return { seat, is_slowed: true } if !self.seats.holds(&seat) => {
                return self.turn_away(conn, &line, ErrorCode::SlowDown, WAIT, close::POLICY);
            }
            Entrant::Return { seat, .. } => self.come_back(conn, line, &seat, None, now),
        }
        self.counts_soon();
    }

    pub(super) fn join(&mut self, conn: ConnId, line: Line, new: NewSeat, now: Millis) {
        let NewSeat { name, listed, token, person, group } = new;
        if self.review.seats().len() >= SEATS {
            COUNTS.limits.one(Limit::Seats);
            let why = "this review has no seat left; ask the instructor";
            return self.turn_away(conn, &line, ErrorCode::RoomFull, why, close::POLICY);
        }
        let name = match self.name_here(name) {
            Ok(name) => name,
            Err(why) => {
                return self.turn_away(conn, &line, ErrorCode::NotAllowed, why, close::POLICY);
            }
        };
        let student = secrets::student_id(self.outside.bits());
        let decision = self.review.decide(&self.course, now, Input::Seat { student, listed });
        if let Some(Reply::Refused(refusal)) = decision.reply {
            let (code, why) = translate::refused(refusal);
            return self.turn_away(conn, &line, code, why, close::POLICY);
        }
        let token_hash = TokenHash::of(token.reveal());
        let row = SeatRow { student, token: token_hash, name, person, group };
        self.fresh.seats.push(row.clone());
        self.seats.add(row);
        self.make(now, decision.events);
        self.audience.enter(conn, Who::Student(student), line, self.review.seq());
        self.is_in(conn, "join");
        self.tell_seated(conn, student, now, Some(token));
        self.tell_beside(conn);
        self.settle(now);
    }

    pub(super) fn come_back(
        &mut self,
        conn: ConnId,
        line: Line,
        seat: &SeatToken,
        told: Option<SeatToken>,
        now: Millis,
    ) {
        let known = self.seats.student(seat);
        let Some(student) = known.filter(|student| self.review.seats().contains_key(student))
        else {
            let why = "that seat is not in this review; join anew";
            return self.turn_away(conn, &line, ErrorCode::NotAllowed, why, close::POLICY);
        };
        let decision = self.review.decide(&self.course, now, Input::Back(student));
        self.make(now, decision.events);
        let from = self.review.seq();
        self.is_in(conn, "return");
        if let Some(before) = self.audience.enter(conn, Who::Student(student), line, from) {
            COUNTS.taken_over.one();
            before.send(&Out::Close(close::SEAT_TAKEN, "your seat was taken from elsewhere"));
        }
        self.tell_seated(conn, student, now, told);
        self.tell_beside(conn);
        if let Phase::Ended(_) = self.review.phase() {
            self.hold(Told::close(To::Conn(conn), close::NORMAL, "the review is over"));
        }
        self.settle(now);
    }

    pub(super) fn tell_seated(
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

    pub(super) fn tell_conducting(&mut self, conn: ConnId, now: Millis, key: Option<HostKey>) {
        let view = self.view();
        let Reach { addresses, secure, .. } =
            self.audience.reach(conn).unwrap_or(&self.reach).clone();
        let message = ToInstructor::Conducting {
            seq: self.review.seq(),
            key,
            review: view.info(&self.handle.word),
            addresses,
            secure,
            moment: Box::new(view.moment(now, None)),
            roll: view.roll(),
            weak_spots: view.weak_spots(),
            coming: view.coming().map(Box::new),
        };
        self.hold(Told::text(To::Conn(conn), &message));
    }

    /// Refuses a connection that did not get in.
    fn turn_away(&self, conn: ConnId, line: &Line, code: ErrorCode, why: &'static str, end: u16) {
        COUNTS.refused.one(code);
        info!(word = %self.handle.word, conn = conn.0, code = term(&code), "turned away");
        let error = ToStudent::Error { code, message: why.to_owned() };
        line.send(&Out::Text(Framed::new(&error)));
        line.send(&Out::Close(end, REFUSED));
    }

    /// Says in the operations log that a connection is in.
    fn is_in(&self, conn: ConnId, how: &'static str) {
        debug!(word = %self.handle.word, conn = conn.0, how, "came in");
    }
}
