//! Who may be called what: the roster, and other names that an instructor gives.

use myonym_engine::{Command, Input, Phase};
use myonym_wire::{ErrorCode, Millis, Seq, StudentId, ToStudent};

use super::ConnId;
use super::audience::{To, Told};
use super::task::Room;
use super::translate::{View, count};
use crate::metrics::{COUNTS, Limit};
use crate::names;
use crate::roster::same;

const NOT_ON_IT: &str = "that name is not on the class's roster; ask the instructor";
const TAKEN: &str = "someone has a seat under that name already; ask the instructor";

impl Room {
    /// The name under which someone who comes may take a seat, spelt as on the roster if there is
    /// one; or why not.
    pub(super) fn name_here(&self, name: String) -> Result<String, &'static str> {
        let Some(roster) = &self.roster else { return Ok(name) };
        let name = roster.name(&name).ok_or(NOT_ON_IT)?;
        if self.is_taken(name, None) { Err(TAKEN) } else { Ok(name.to_owned()) }
    }

    /// Whether another than `own` has a seat under this name.
    fn is_taken(&self, name: &str, own: Option<StudentId>) -> bool {
        let seats = self.review.seats().keys().filter(|student| Some(**student) != own);
        seats.filter_map(|student| self.seats.names.get(student)).any(|taken| same(taken, name))
    }

    /// Gives a student another name: kept with an event of the log, as a seat is, and told once
    /// that is on disk.
    pub(super) fn rename(&mut self, conn: ConnId, student: StudentId, name: &str, now: Millis) {
        let Some(name) = names::clean(name) else {
            COUNTS.limits.one(Limit::Name);
            return self.refuse(conn, ErrorCode::BadName, "a name has 1 to 24 characters");
        };
        let input = Input::Command(Command::Rename(student));
        let decision = self.review.decide(&self.course, now, input);
        if let Some(refused) = decision.reply {
            return self.reply(conn, refused);
        }
        if self.roster.is_some() && self.is_taken(&name, Some(student)) {
            let why = "someone else has that name, and the roster has each once";
            return self.refuse(conn, ErrorCode::BadName, why);
        }
        if self.seats.names.get(&student) == Some(&name) {
            return;
        }
        self.seats.names.insert(student, name.clone());
        self.fresh.names.push((student, name));
        self.make(now, decision.events);
        self.settle(now);
    }
}

impl View<'_> {
    /// What is told of another name: to the student, and to the class where it sees standings.
    pub(super) fn renamed(&self, seq: Seq, student: StudentId) -> Vec<Told> {
        let own = ToStudent::Renamed { name: self.name(student) };
        let mut told = vec![Told::text(To::Student(student), &own)];
        if let Phase::Revealed = self.review.phase() {
            let places = self.places.of(self.review);
            let (rows, of) = (self.standing_rows(&places), count(places.len()));
            told.push(Told::text(To::All, &ToStudent::Standings { seq, rows, of }));
        }
        told
    }
}
