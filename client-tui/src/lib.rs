//! The terminal screens of a review: the student's, and the instructor's console.
//!
//! Each side is a model, an update and a view. `update` takes one message in and gives commands
//! back; `view` draws the model; neither does input or output or reads a clock. One loop joins
//! them to the terminal, to a connection that comes back by itself, and to the seat kept on disk.
//!
//! This crate knows the messages of `myonym-wire` and nothing else: no muscle, no rule, no answer.

mod app;
mod backoff;
mod big;
mod clock;
mod console;
mod error;
mod keys;
mod line;
mod net;
mod parts;
mod person_file;
mod plate;
mod round;
#[cfg(test)]
mod run_tests;
#[cfg(test)]
mod samples;
mod seat_file;
mod student;
mod terminal;
mod text;
mod theme;
mod time;
mod trust;
mod uplink;
mod words;

pub use console::{ConsoleOptions, ConsoleTask, console};
pub use error::{Error, Outcome};
pub use student::{PlayOptions, checked_group, checked_name, play};
pub use terminal::terminal_width;
pub use time::{parse_limit, parse_time};
pub use trust::{BadCertificate, BadFingerprint, Fingerprint, Trust};
