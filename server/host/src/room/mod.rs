//! A room: one task that owns one review.
//!
//! Everything goes in through its inbox and out on each connection's line. The task
//! decides, applies, hands the events to the log, and holds back whatever rests on them until the
//! log says that they are on disk.

mod audience;
mod board;
mod choosing;
mod entering;
mod kept;
mod moment;
mod naming;
mod picture;
mod places;
#[cfg(test)]
mod queued;
mod recovery;
mod reveal;
#[cfg(test)]
mod sim;
#[cfg(test)]
mod sizes;
mod speaking;
mod task;
#[cfg(test)]
mod tests;
mod translate;
mod turns;
mod voting;

use std::fmt;
use std::sync::Arc;

use myonym_content::Course;
use myonym_wire::{FromInstructor, FromStudent, HostKey, JoinWord, Millis, ReviewId, SeatToken};
use tokio::sync::mpsc;

use crate::framed::Framed;
use crate::metrics::{COUNTS, Limit};
use crate::pseudonyms::PersonHash;
use crate::reach::Reach;
use crate::secrets::TokenHash;

pub(crate) use picture::{Gallery, is_pictured, unlabelled};
#[cfg(test)]
pub(crate) use queued::LineEnd;
pub(crate) use task::{Room, Start};
pub(crate) use turns::Turns;

/// Messages that may wait for one connection. A reveal is three; a connection that is this far
/// behind is closed and may come back.
pub(crate) const LINE: usize = 64;
/// Posts that may wait for a room; connections wait when it is full.
const INBOX: usize = 1_024;

/// A connection, numbered by the server.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct ConnId(pub(crate) u64);

/// What goes out on a connection.
#[derive(Debug, Clone)]
pub(crate) enum Out {
    /// A message, shared among all who get it.
    Text(Framed),
    /// The end, with a close code and why.
    Close(u16, &'static str),
}

/// What a line leads to: a socket, or a test's ear.
pub(crate) trait Outlet: fmt::Debug + Send + Sync {
    /// Asks for the memory that `put` begins with, and does not wait for it.
    fn fetch(&self) {}
    /// Takes what goes out, without waiting; false if the connection is gone or too far behind.
    fn put(&self, out: &Out) -> bool;
    /// Takes what is to go out together with what follows it.
    fn keep(&self, out: &Out) -> bool {
        self.put(out)
    }
    /// Nothing followed yet: what was kept goes out.
    fn put_kept(&self) -> bool {
        true
    }
    /// The room has no more to do with it.
    fn let_go(&self);
}

/// The room's end of a connection. Whoever drops it lets go of the connection.
#[derive(Debug)]
pub(crate) struct Line {
    outlet: Arc<dyn Outlet>,
    /// How the other side reached the server, where that is not how students are told to.
    reach: Option<Box<Reach>>,
}

impl Line {
    /// A line to a connection, of one who reached the server so.
    pub(crate) fn new(outlet: Arc<dyn Outlet>, reach: Option<Reach>) -> Self {
        Self { outlet, reach: reach.map(Box::new) }
    }

    /// Asks for the memory that whatever is put on the line begins with, and does not wait for it.
    fn fetch(&self) {
        self.outlet.fetch();
    }

    /// Puts something on the line; false if the connection is gone or too far behind.
    fn send(&self, out: &Out) -> bool {
        self.outlet.put(out)
    }

    /// Puts something on the line to go out with what follows; false as above.
    fn keep(&self, out: &Out) -> bool {
        self.outlet.keep(out)
    }

    /// Sends what was kept, if nothing followed; false as above.
    fn send_kept(&self) -> bool {
        self.outlet.put_kept()
    }
}

impl Drop for Line {
    fn drop(&mut self) {
        self.outlet.let_go();
    }
}

/// Who comes in.
#[derive(Debug)]
pub(crate) enum Entrant {
    /// A new student.
    Join {
        /// Name after cleaning.
        name: String,
        /// Whether the class may see it.
        listed: bool,
        /// A token of the client's own making; with one that is known here it comes back.
        seat: Option<SeatToken>,
        /// Who this is in all reviews of this host, if the client says so.
        person: Option<PersonHash>,
        /// The group, after cleaning.
        group: Option<String>,
    },
    /// A student comes back.
    Return {
        /// The seat's token.
        seat: SeatToken,
        /// Whether the address has to wait: then a refusal must not tell that the word was right.
        is_slowed: bool,
    },
    /// An instructor whose key was found good.
    Conduct {
        /// The review's own key, told once to who opened it.
        key: Option<HostKey>,
    },
    /// A board.
    Watch,
}

/// What a connection says after it is in.
#[derive(Debug)]
pub(crate) enum Said {
    /// By a student.
    Student(FromStudent),
    /// By an instructor.
    Instructor(FromInstructor),
}

/// What reaches a room. Times are the server's clock, stamped at the socket.
#[derive(Debug)]
pub(crate) enum Post {
    /// Someone comes in.
    Enter {
        /// The connection.
        conn: ConnId,
        /// Where to answer.
        line: Line,
        /// Who.
        entrant: Box<Entrant>,
        /// When.
        at: Millis,
    },
    /// Someone speaks.
    Said {
        /// The connection.
        conn: ConnId,
        /// What.
        said: Said,
        /// When.
        at: Millis,
        /// The least round trip seen on the connection.
        round_trip: Option<Millis>,
    },
    /// A connection ended.
    Gone {
        /// The connection.
        conn: ConnId,
        /// When.
        at: Millis,
    },
}

/// A way to a room, cheap to clone.
#[derive(Debug, Clone)]
pub(crate) struct RoomHandle {
    /// The review.
    pub(crate) review: ReviewId,
    /// Its join word.
    pub(crate) word: JoinWord,
    /// Hash of its own key.
    pub(crate) key: TokenHash,
    /// The muscle list made ready.
    pub(crate) course: Arc<Course>,
    /// Whether a study group meets in it.
    pub(crate) is_group: bool,
    inbox: mpsc::Sender<Post>,
}

impl RoomHandle {
    /// A handle and the inbox that it fills.
    pub(crate) fn new(
        review: ReviewId,
        word: JoinWord,
        key: TokenHash,
        course: Arc<Course>,
        is_group: bool,
    ) -> (Self, mpsc::Receiver<Post>) {
        let (inbox, posts) = mpsc::channel(INBOX);
        (Self { review, word, key, course, is_group, inbox }, posts)
    }

    /// How many posts wait for the room.
    pub(crate) fn waiting(&self) -> usize {
        self.inbox.max_capacity() - self.inbox.capacity()
    }

    /// Hands a post to the room; false if the room is closed.
    pub(crate) async fn post(&self, post: Post) -> bool {
        match self.inbox.try_send(post) {
            Ok(()) => true,
            Err(mpsc::error::TrySendError::Closed(_)) => false,
            Err(mpsc::error::TrySendError::Full(post)) => {
                COUNTS.limits.one(Limit::Inbox);
                // In a box, as every connection would hold room for it.
                Box::pin(self.inbox.send(post)).await.is_ok()
            }
        }
    }
}
