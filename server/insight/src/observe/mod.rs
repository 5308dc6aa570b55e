//! What was asked and answered, one row a student and round, from which every analysis starts.

mod contrasted;
mod lean;
mod merge;
mod observer;
mod table;
mod written;

pub use contrasted::Contrasted;
pub use lean::LeanAnswer;
pub use observer::{Observer, Sitting};
pub use table::{MuscleId, Observations, Outcome, PersonId, ReviewTag, RoundTag, Row};
