//! A review as a list of reviews tells it.

use myonym_wire::ReviewId;
use serde::{Deserialize, Serialize};

/// A review in a list. The host knows it from its store.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ReviewInfo {
    /// Its id.
    pub review: ReviewId,
    /// Its join word.
    pub word: String,
    /// Date and time of its opening, as text for people.
    pub opened: String,
    /// The section that it was held for.
    #[serde(default)]
    pub section: Option<String>,
    /// Name of its muscle list.
    pub list: String,
    /// Students that had a seat.
    pub students: u32,
    /// Rounds revealed.
    pub rounds: u32,
    /// Whether it is over.
    pub ended: bool,
    /// Whether it was a rehearsal, with no class.
    pub rehearsal: bool,
}
