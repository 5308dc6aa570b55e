//! What a muscle is, and what may be said of it.
//!
//! This crate holds the muscles' data and everything computed from it alone: the index of names,
//! nearness between muscles, clues, contrasts, and the check of the data files. It knows no room,
//! no student, no score and no clock, and does no I/O: files come in as text.

mod asking;
pub mod atlas;
mod beside;
pub mod catalogue;
pub mod check;
mod claim;
mod claimed;
pub mod clue;
pub mod contrast;
pub mod course;
pub mod cue;
pub mod derived;
mod edit;
pub mod explain;
pub mod file;
mod fold;
pub mod lint;
pub mod list;
mod load;
pub mod model;
pub mod movement_name;
mod movement_resolve;
pub mod name;
pub mod near;
pub mod order;
pub mod own_list;
mod place;
pub mod problem;
mod resolve;
pub mod span;
pub mod spelling;
mod statement;
pub mod vocabulary;
pub mod words;

pub use atlas::Atlas;
pub use catalogue::Catalogue;
pub use clue::{Clue, ClueKind, OrderedClue};
pub use contrast::{Contrast, Difference};
pub use course::{Course, CourseError, Item};
pub use list::MuscleList;
pub use model::{JointKey, Level, ListKey, MovementKey, Muscle, MuscleKey};
pub use movement_name::{MovementResolution, NamedMovement};
pub use name::Resolution;
pub use own_list::OwnList;
