//! From logged events to weak spots.
//!
//! An [`Observer`](observe::Observer) and a [`Tally`] fold events into counts, an
//! [`Analysis`](analysis::Analysis) is what they come to as plain data, and [`render`] lays it out.
//! [`weak_spots`] is the short form for a console while a review runs.
//!
//! This crate does no I/O, has no clock, and knows nobody's name: of students it sees only the
//! random ids of the log, and nothing that it gives out holds even those. What one student did
//! ([`own`]) comes in and goes out by itself, and never with what a class did.

pub mod analysis;
mod apart;
mod estimate;
pub mod export;
pub mod observe;
pub mod own;
pub mod plan;
mod predicted;
pub mod render;
mod review_info;
mod rows;
mod tally;
mod weak_spots;

pub use estimate::{Estimate, wilson};
pub use predicted::{Instead, Predicted};
pub use review_info::ReviewInfo;
pub use rows::{ConfusedPair, Hard, Totals, Unclear};
pub use tally::Tally;
pub use weak_spots::weak_spots;
