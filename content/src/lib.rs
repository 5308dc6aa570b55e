//! What a muscle is, and what may be said of it.
//!
//! This crate holds the muscles' data and everything computed from it alone: the index of names,
//! nearness between muscles, clues, contrasts, and the check of the data files. It knows no room,
//! no student, no score and no clock, and does no I/O: files come in as text.

pub mod catalogue;
pub mod check;
pub mod file;
pub mod list;
mod load;
pub mod model;
pub mod problem;
pub mod span;
pub mod vocabulary;
