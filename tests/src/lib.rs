//! Harness of the whole-program tests: the real programs, clients written from the JSON Schema,
//! and a recount of the log that knows none of the project's rules but what is documented.
//!
//! A test starts a [`TestHost`], lets [`Student`]s and an [`Instructor`] speak to it over real
//! sockets, and looks at what they heard and at what the log holds. Nothing sleeps: tests wait for
//! messages, and [`DEADLINE`] only turns a hang into a failure. Every message heard is checked
//! against the committed schema.

mod class;
mod client;
mod host;
mod log;
mod muscles;
mod old_files;
mod people;
mod program;
mod raw;
mod recount;
mod schema;
mod terminal;
mod tls;

use std::time::Duration;

pub use class::{Asked, Class};
pub use client::{Carrier, Client, Closed, Heard};
pub use host::{HeldDisk, TestHost};
pub use log::{Log, LogRow, ReviewLog};
pub use muscles::{Named, movement_of, shoulder};
pub use old_files::{OLD_FILES, OldFile, put_old_file};
pub use people::{Board, Instructor, Seat, Student};
pub use program::{Program, Ran};
pub use raw::{RawFrame, RawSocket, Response, encoded, http, http_exactly, post};
pub use recount::{CountedAnswer, CountedRound, Recount, Standing, hundredths};
pub use schema::Role;
pub use terminal::Terminal;
pub use tls::shake_hands;

/// How long a test waits for a message before it fails. No behaviour is measured by it.
pub const DEADLINE: Duration = Duration::from_secs(20);
