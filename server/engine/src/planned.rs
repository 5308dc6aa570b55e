//! A round as it is planned.

use myonym_content::MuscleKey;
use myonym_wire::Task;
use serde::{Deserialize, Serialize};

/// What a round is to ask.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Planned {
    /// The muscle that it describes.
    pub muscle: MuscleKey,
    /// What it asks for.
    #[serde(default)]
    pub task: Task,
    /// The other muscle offered, where one of two is to be chosen ([`Task::Contrast`]).
    #[serde(default)]
    pub beside: Option<MuscleKey>,
}

impl Planned {
    /// A round that asks for the muscle's name.
    pub fn name(muscle: MuscleKey) -> Self {
        Self { muscle, task: Task::Name, beside: None }
    }
}
