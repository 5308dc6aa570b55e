//! Who is connected to a room, and sending to them.

use std::collections::{BTreeMap, BTreeSet};

use myonym_wire::{Seq, StudentId};
use serde::Serialize;

use super::{ConnId, Line, Out};
use crate::framed::Framed;
use crate::reach::Reach;

/// Connections whose memory is asked for together. One after the other each would be waited for, as
/// a write in between takes all of the processor's first cache.
const FETCHED: usize = 16;

/// For whom something is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum To {
    /// The whole room: students, instructors and boards.
    All,
    /// All instructors.
    Instructors,
    /// All boards.
    Boards,
    /// One student.
    Student(StudentId),
    /// One connection.
    Conn(ConnId),
}

/// Something that waits for the disk.
#[derive(Debug)]
pub(super) struct Held {
    /// The event that has to be on disk first.
    pub(super) needs: Seq,
    /// Whether it tells of that event, so that a snapshot may hold it already.
    pub(super) of_event: bool,
    pub(super) told: Told,
}

/// Something to send.
#[derive(Debug, Clone)]
pub(super) struct Told {
    pub(super) to: To,
    pub(super) out: Out,
}

impl Told {
    /// A message, encoded once for everyone who gets it.
    pub(super) fn text(to: To, message: &impl Serialize) -> Self {
        Self { to, out: Out::Text(Framed::new(message)) }
    }

    /// The end of a connection.
    pub(super) fn close(to: To, code: u16, why: &'static str) -> Self {
        Self { to, out: Out::Close(code, why) }
    }
}

/// Who a connection belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Who {
    Student(StudentId),
    Instructor,
    Board,
}

#[derive(Debug)]
struct Link {
    who: Who,
    line: Line,
    /// Events up to here are in the snapshot that this connection was given.
    from: Seq,
}

/// All connections of a room.
#[derive(Debug, Default)]
pub(super) struct Audience {
    links: BTreeMap<ConnId, Link>,
    instructors: BTreeSet<ConnId>,
    boards: BTreeSet<ConnId>,
    students: BTreeMap<StudentId, ConnId>,
}

impl Audience {
    /// Takes a connection in. A student's earlier connection is returned, to be closed.
    pub(super) fn enter(&mut self, conn: ConnId, who: Who, line: Line, from: Seq) -> Option<Line> {
        self.links.insert(conn, Link { who, line, from });
        let student = match who {
            Who::Student(student) => student,
            Who::Instructor => {
                self.instructors.insert(conn);
                return None;
            }
            Who::Board => {
                self.boards.insert(conn);
                return None;
            }
        };
        let before = self.students.insert(student, conn)?;
        self.links.remove(&before).map(|link| link.line)
    }

    /// Who a connection is.
    pub(super) fn who(&self, conn: ConnId) -> Option<Who> {
        self.links.get(&conn).map(|link| link.who)
    }

    /// How a connection reached the server, where that is not how students are told to.
    pub(super) fn reach(&self, conn: ConnId) -> Option<&Reach> {
        self.links.get(&conn)?.line.reach.as_deref()
    }

    /// Lets a connection go; the student whose current connection it was.
    pub(super) fn leave(&mut self, conn: ConnId) -> Option<StudentId> {
        match self.links.remove(&conn)?.who {
            Who::Student(student) if self.students.get(&student) == Some(&conn) => {
                self.students.remove(&student);
                Some(student)
            }
            Who::Student(_) => None,
            Who::Instructor => {
                self.instructors.remove(&conn);
                None
            }
            Who::Board => {
                self.boards.remove(&conn);
                None
            }
        }
    }

    /// Whether an instructor is connected.
    pub(super) fn has_instructor(&self) -> bool {
        !self.instructors.is_empty()
    }

    /// Whether a board is connected.
    pub(super) fn has_board(&self) -> bool {
        !self.boards.is_empty()
    }

    /// How many boards are connected.
    pub(super) fn boards(&self) -> usize {
        self.boards.len()
    }

    /// Marks that a connection has been given a snapshot of everything up to `from`.
    pub(super) fn renew(&mut self, conn: ConnId, from: Seq) {
        if let Some(link) = self.links.get_mut(&conn) {
            link.from = from;
        }
    }

    /// Every connection and who it is.
    pub(super) fn everyone(&self) -> Vec<(ConnId, Who)> {
        self.links.iter().map(|(conn, link)| (*conn, link.who)).collect()
    }

    /// Students connected.
    pub(super) fn students(&self) -> impl Iterator<Item = StudentId> + '_ {
        self.students.keys().copied()
    }

    /// How many are connected.
    pub(super) fn len(&self) -> usize {
        self.links.len()
    }

    /// Keeps something for a connection until more is sent there; false if it is lost.
    pub(super) fn keep(&self, conn: ConnId, out: &Out) -> bool {
        self.links.get(&conn).is_none_or(|link| link.line.keep(out))
    }

    /// Sends what is kept for a connection; false if it is lost.
    pub(super) fn send_kept(&self, conn: ConnId) -> bool {
        self.links.get(&conn).is_none_or(|link| link.line.send_kept())
    }

    /// Sends what is told of an event (or of none); connections that are gone or too slow are
    /// returned.
    pub(super) fn send(&self, event: Option<Seq>, told: &Told) -> Vec<ConnId> {
        let mut lost = Vec::new();
        let mut to = |conn: ConnId, link: &Link| {
            // What an event tells that is in a connection's snapshot is not told it again.
            let fresh = event.is_none_or(|seq| seq > link.from);
            if fresh && !link.line.send(&told.out) {
                lost.push(conn);
            }
        };
        let mut one = |conn: Option<&ConnId>| {
            if let Some((conn, link)) = conn.and_then(|conn| self.links.get_key_value(conn)) {
                to(*conn, link);
            }
        };
        match told.to {
            To::All => {
                let mut links = self.links.iter();
                let mut next = Vec::with_capacity(FETCHED);
                while links.len() > 0 {
                    next.extend(links.by_ref().take(FETCHED));
                    for (_, link) in &next {
                        link.line.fetch();
                    }
                    next.drain(..).for_each(|(conn, link)| to(*conn, link));
                }
            }
            To::Instructors => self.instructors.iter().for_each(|conn| one(Some(conn))),
            To::Boards => self.boards.iter().for_each(|conn| one(Some(conn))),
            To::Student(student) => one(self.students.get(&student)),
            To::Conn(conn) => one(Some(&conn)),
        }
        lost
    }
}
