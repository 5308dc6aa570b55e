//! What is due: messages that come in, and what clients do.

use anyhow::{Context as _, Result, ensure};
use myonym_wire::limits::close;
use myonym_wire::{FromInstructor, FromStudent, Pace, RoundNo};
use rand::RngExt as _;

use super::disk::look;
use super::ear::Peer;
use super::fault::Fault;
use super::net::{Conn, Due, Up};
use super::student::{Step, Student, other_time};
use super::typing::typed;
use super::world::World;
use crate::framed::Framed;
use crate::room::{ConnId, Entrant, Line, Out, Post, Said};

impl World {
    pub(super) async fn on_due(&mut self, due: Due) -> Result<()> {
        match due {
            Due::Arrive(number, up) => self.arrives(number, up),
            Due::Inbox(process, post) => self.posted(process, post),
            Due::Deliver(number, Out::Text(frame)) => return self.delivered(number, &frame),
            Due::Deliver(number, Out::Close(code, _)) => self.closed(number, code),
            Due::Student(student, step) => self.does(student, step),
            Due::Instructor(instructor) => self.conducts(instructor),
            Due::Board(board) => self.watches(board),
            Due::Pauses(left) => self.pauses(left),
            Due::Weather => self.weather(),
            Due::DiskHeals => self.disk_heals(),
            Due::KillSoon { untold, looks } => return self.kill_soon(untold, looks).await,
            Due::Wakes => {}
            Due::HostStarts => return self.start_host(),
            Due::Calm => self.calms(),
            Due::End => self.ends(),
            Due::Last => self.comes_back_once_more(),
            Due::Done => {
                self.last = true;
                self.stops();
            }
        }
        Ok(())
    }

    fn arrives(&mut self, number: u64, up: Up) {
        let now = self.now();
        let Some(conn) = self.conns.get_mut(&number) else { return };
        if matches!(up, Up::Gone) {
            return self.host_closes(number);
        }
        if conn.lost {
            return self.faults.count(Fault::LostOnTheWay);
        }
        let Some(host) = &self.host else { return self.breaks(number, 20) };
        let at = host.clock.now();
        let id = ConnId(number);
        let post = match up {
            Up::Enter(entrant) => {
                let (line, end) = Line::queued();
                (conn.line, conn.process) = (Some(end), self.process);
                Post::Enter { conn: id, line, entrant: Box::new(entrant), at }
            }
            Up::Said(said) if conn.line.is_some() => {
                let round_trip = conn.round_trip;
                if let (Said::Student(FromStudent::Answer { attempt, .. }), Peer::Student(who)) =
                    (&said, conn.ear.peer)
                {
                    if round_trip.is_none() {
                        self.faults.count(Fault::PongLate);
                    }
                    if let Some(tried) = self.students[who].tries.get_mut(attempt) {
                        tried.arrived.push(now);
                    }
                }
                if let Said::Instructor(FromInstructor::Remove { student }) = &said {
                    self.taken_out.insert(*student);
                }
                Post::Said { conn: id, said, at, round_trip }
            }
            Up::Said(_) | Up::Gone => return,
        };
        let due = conn.posted_at(now, &mut self.random);
        self.at(due, Due::Inbox(self.process, post));
    }

    fn posted(&mut self, process: u32, post: Post) {
        let Some(host) = self.host.as_ref().filter(|_| process == self.process) else { return };
        let (Post::Enter { at, .. } | Post::Said { at, .. } | Post::Gone { at, .. }) = &post;
        if *at < self.stamped {
            self.faults.count(Fault::Reordered);
        }
        self.stamped = self.stamped.max(*at);
        // A room that has just closed takes no more, as the host's own connections find.
        let _ = host.handle.inbox.try_send(post);
    }

    fn delivered(&mut self, number: u64, frame: &Framed) -> Result<()> {
        let now = self.now();
        let Some(conn) = self.conns.get_mut(&number) else { return Ok(()) };
        if conn.lost || !conn.up {
            self.faults.count(Fault::LostOnTheWay);
            return Ok(());
        }
        if self.random.random_bool(0.5) {
            conn.pong();
        }
        let (peer, is_in) = (conn.ear.peer, !conn.ear.segments.is_empty());
        let message = self.parsed(frame)?;
        let who = match peer {
            Peer::Student(student) => student,
            Peer::Instructor(instructor) => {
                self.instructors[instructor].hear(&message);
                return Ok(());
            }
            Peer::Board => return Ok(()),
        };
        if message["code"] == "not_allowed" && !is_in {
            self.turned_away(who)?;
        }
        let steps = self.students[who].hear(&message, now, &mut self.random)?;
        for (wait, step) in steps {
            self.after(wait, Due::Student(who, step));
        }
        let turn = matches!(message["type"].as_str(), Some("seated" | "round_opened" | "revealed"));
        let is_group = matches!(self.settings.pace, Pace::Group { .. });
        if turn && is_group && !self.calm && self.random.random_bool(0.3) {
            let wait = self.random.random_range(50..2_500);
            let wish = Student::wishes(&mut self.random);
            self.after(wait, Due::Student(who, wish));
        }
        Ok(())
    }

    /// Only a student who was removed may find the seat gone that it was told.
    fn turned_away(&mut self, who: usize) -> Result<()> {
        let student = &mut self.students[who];
        // A refusal is told at once, and may rest on a removal that is not on disk yet.
        let removed = student.ids.iter().any(|id| self.taken_out.contains(id));
        // A seat that was taken and never told may be removed as well.
        let untold = student.ids.is_empty();
        ensure!(removed || untold || !student.has_seat(), "{} lost its seat", student.name);
        student.removed = true;
        self.faults.count(Fault::RemovedReturns);
        Ok(())
    }

    fn closed(&mut self, number: u64, code: u16) {
        let Some(conn) = self.conns.get_mut(&number) else { return };
        if !std::mem::replace(&mut conn.up, false) {
            return;
        }
        if conn.line.is_some() {
            let at = conn.up_at(self.clock.now(), &mut self.random);
            self.at(at, Due::Arrive(number, Up::Gone));
        }
        match self.conns[&number].ear.peer {
            Peer::Student(who) if self.students[who].conn == Some(number) => {
                let back = self.students[who].closed(code, &mut self.random);
                // In the end nobody comes back by chance.
                let stays_out = self.students[who].removed || (self.calm && code == close::NORMAL);
                if let Some(wait) = back.filter(|_| !stays_out) {
                    self.after(wait, Due::Student(who, Step::Connect));
                }
            }
            Peer::Instructor(who) if self.instructors[who].conn == Some(number) => {
                self.instructors[who].conn = None;
            }
            Peer::Board => {
                let own = self.boards.iter_mut().filter(|board| **board == Some(number));
                own.for_each(|board| *board = None);
            }
            Peer::Student(_) | Peer::Instructor(_) => {}
        }
    }

    pub(super) fn connect(&mut self, peer: Peer, entrant: Entrant) -> u64 {
        let number = u64::try_from(self.conns.len()).unwrap_or(u64::MAX);
        let own_name = match peer {
            Peer::Student(who) => Some(self.students[who].name.clone()),
            Peer::Instructor(_) | Peer::Board => None,
        };
        let mut conn = Conn::new(peer, own_name, self.process, &mut self.random);
        let at = conn.up_at(self.clock.now(), &mut self.random);
        self.conns.insert(number, conn);
        self.at(at, Due::Arrive(number, Up::Enter(entrant)));
        number
    }

    /// Sends something on someone's connection, if there is one.
    pub(super) fn say(&mut self, peer: Peer, said: Said) {
        let now = self.now();
        let Some(number) = self.conn_of(peer) else { return };
        let Some(conn) = self.conns.get_mut(&number) else { return };
        let at = conn.up_at(now, &mut self.random);
        self.at(at, Due::Arrive(number, Up::Said(said)));
    }

    fn does(&mut self, who: usize, step: Step) {
        let said = match step {
            Step::Connect => return self.comes(who),
            Step::Answer(round) => {
                let opened = look(&self.disk).opened(round);
                let Some(opened) = opened else { return };
                let (random, faults) = (&mut self.random, &mut self.faults);
                let text = typed(&opened, &self.course, random, faults);
                return self.answers(who, round, text);
            }
            Step::Choose(round, text) => return self.answers(who, round, text),
            Step::Again(attempt) => return self.sends(who, attempt),
            Step::Vote(motion, yes) => FromStudent::Vote { motion, yes },
            Step::Start => FromStudent::Start {},
            Step::OwnTime => FromStudent::OwnTime { time: other_time(&mut self.random) },
            Step::Leave => FromStudent::Leave {},
        };
        self.say(Peer::Student(who), Said::Student(said));
    }

    pub(super) fn comes(&mut self, who: usize) {
        if self.students[who].conn.is_some() {
            return;
        }
        if self.host.is_none() {
            let wait = self.random.random_range(100..1_200);
            return self.after(wait, Due::Student(who, Step::Connect));
        }
        let entrant = self.students[who].entrant(&mut self.random, &mut self.faults);
        self.students[who].conn = Some(self.connect(Peer::Student(who), entrant));
    }

    fn answers(&mut self, who: usize, round: RoundNo, text: String) {
        if self.calm || self.students[who].conn.is_none() {
            return;
        }
        let student = &mut self.students[who];
        if student.tries.values().any(|tried| tried.round == round && tried.recorded) {
            self.faults.count(Fault::SecondAnswer);
        }
        if look(&self.disk).is_over(round) {
            self.faults.count(Fault::LateAnswer);
        }
        let attempt = student.tries(round, text, &mut self.random);
        self.sends(who, attempt);
    }

    fn sends(&mut self, who: usize, attempt: myonym_wire::AttemptId) {
        let now = self.now();
        let student = &mut self.students[who];
        let Some(conn) = student.conn else { return };
        if let Some(answer) = student.says(attempt, conn, now, &mut self.faults) {
            self.say(Peer::Student(who), Said::Student(answer));
        }
    }

    fn conducts(&mut self, who: usize) {
        let wait = self.random.random_range(200..1_800);
        self.after(wait, Due::Instructor(who));
        if self.instructors[who].conn.is_none() {
            if self.host.is_some() {
                let entrant = Entrant::Conduct { key: None };
                self.instructors[who].conn = Some(self.connect(Peer::Instructor(who), entrant));
            }
        } else if !self.calm {
            let says = self.instructors[who].says(self.settings.pace, &mut self.random);
            if let Some(says) = says {
                self.say(Peer::Instructor(who), Said::Instructor(says));
            }
        }
    }

    fn watches(&mut self, board: usize) {
        let wait = self.random.random_range(1_000..9_000);
        self.after(wait, Due::Board(board));
        match self.boards[board] {
            None if self.host.is_some() => {
                self.faults.count(Fault::BoardCame);
                self.boards[board] = Some(self.connect(Peer::Board, Entrant::Watch));
            }
            Some(number) if !self.calm && self.random.random_bool(0.2) => {
                self.faults.count(Fault::BoardGone);
                self.cut(number, 0);
            }
            None | Some(_) => {}
        }
    }

    fn pauses(&mut self, left: u32) {
        let Some(left) = left.checked_sub(1) else { return };
        let says = match left % 2 {
            0 => FromInstructor::Resume {},
            _ => FromInstructor::Pause {},
        };
        self.say(Peer::Instructor(0), Said::Instructor(says));
        self.after(60, Due::Pauses(left));
    }

    /// The end, said again until it is on the disk.
    fn ends(&mut self) {
        let is_over = look(&self.disk).is_ended();
        if is_over {
            return self.after(1_500, Due::Last);
        }
        if self.at_end.is_empty() {
            let here = self.conns.iter().filter(|(_, conn)| {
                conn.line.is_some() && conn.ear.student.is_some() && conn.up && !conn.lost
            });
            self.at_end = here.map(|(number, _)| *number).collect();
        }
        self.say(Peer::Instructor(0), Said::Instructor(FromInstructor::End {}));
        self.after(1_500, Due::End);
    }

    fn comes_back_once_more(&mut self) {
        for who in 0..self.students.len() {
            if !self.students[who].removed {
                self.comes(who);
            }
        }
        self.after(6_000, Due::Done);
    }

    /// What is left when the room was asked to stop, and has.
    pub(super) async fn host_is_over(&mut self) -> Result<()> {
        let host = self.host.take().context("no host")?;
        let left = host.ended().await?;
        ensure!(self.stopping, "the room ended by itself");
        self.check_left(&left)?;
        if self.last {
            self.done = true;
        } else {
            let wait = self.random.random_range(20..1_500);
            self.after(wait, Due::HostStarts);
        }
        Ok(())
    }
}
