//! A planned review as a text file, to be changed by hand.
//!
//! ```toml
//! list = "shoulder"       # the key of a bundled list, or a text file of your own
//! seed = 7                # what chance draws from; a new number, if left out
//! limit = "45s"           # may be left out
//!
//! [[round]]
//! muscle = "teres minor"  # in any form that is accepted of a student
//! task = "contrast"       # name (if left out), picture, movement or contrast
//! beside = "teres major"  # in a contrast: the other one; the nearest, if left out
//! why = "7 of 24 took it for teres major"
//! ```

mod read;
mod write;

use myonym_content::problem::SourceFile;
use myonym_engine::Planned;
use myonym_wire::Task;

pub(crate) use read::read;
pub(crate) use write::{Row, write};

/// A planned review.
#[derive(Debug, Clone)]
pub(crate) struct PlanFile {
    /// The muscle list as the file names it.
    pub(crate) list: String,
    /// The list's own text, where it is one of the instructor's own.
    pub(crate) own_list: Option<SourceFile>,
    /// What chance draws from.
    pub(crate) seed: Option<u64>,
    /// Time limit of a round, in milliseconds.
    pub(crate) limit_ms: Option<u32>,
    /// The rounds.
    pub(crate) rounds: Vec<PlannedRound>,
}

/// A planned round, and why it is in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct PlannedRound {
    /// What it asks.
    pub(crate) planned: Planned,
    /// Name of the muscle.
    pub(crate) name: String,
    /// Name of the other one offered.
    pub(crate) beside: Option<String>,
    /// Why, for the instructor; may be empty.
    pub(crate) why: String,
}

impl PlannedRound {
    /// What it asks, in words.
    pub(crate) fn asks(&self) -> String {
        let name = &self.name;
        match (self.planned.task, &self.beside) {
            (Task::Name, _) => name.clone(),
            (Task::Picture, _) => format!("{name}, picture"),
            (Task::Movement, _) => format!("{name}, movement"),
            (Task::Contrast, Some(beside)) => format!("{name} beside {beside}"),
            (Task::Contrast, None) => format!("{name} beside its nearest"),
        }
    }
}

/// The words for what a round asks for, as a file has them.
const TASKS: [(&str, Task); 4] = [
    ("name", Task::Name),
    ("picture", Task::Picture),
    ("movement", Task::Movement),
    ("contrast", Task::Contrast),
];
