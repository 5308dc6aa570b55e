//! Muscle lists: the muscles that a course teaches, and how much of each.

use serde::{Deserialize, Serialize};

use crate::model::{Level, ListKey, MuscleKey};

/// A kind of fact, as a course may teach it or leave it out.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum FactKind {
    /// What the muscle does.
    Action,
    /// Where it attaches: origins and insertions.
    Attachment,
    /// What supplies it.
    Innervation,
}

/// The muscles that a course teaches.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MuscleList {
    /// Key, such as `shoulder`.
    pub key: ListKey,
    /// Name for people, such as `shoulder, introductory course`.
    pub name: String,
    /// How much of each muscle the course teaches.
    pub level: Level,
    /// The muscles, in the order taught.
    pub muscles: Vec<MuscleKey>,
    /// Kinds of fact that the course leaves out.
    pub hide: Vec<FactKind>,
}
