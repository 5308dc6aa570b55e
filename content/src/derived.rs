//! What a muscle does, derived from where it is attached.

pub use myonym_mechanics::Certainty;

use crate::atlas::Atlas;
use crate::model::{FreedomKey, JointKey, MovementKey, MuscleKey, PartKey};

/// An action derived from the atlas: of a muscle, or of one of its parts.
#[derive(Debug, Clone, PartialEq)]
pub struct Derived {
    /// The part; `None` for the whole muscle.
    pub part: Option<PartKey>,
    /// The freedom.
    pub freedom: FreedomKey,
    /// Its joint.
    pub joint: JointKey,
    /// The movement that shortening makes there.
    pub movement: MovementKey,
    /// Moment arm in millimetres, positive; the mean of its lines of pull.
    pub arm_mm: f64,
    /// Its standard deviation in millimetres.
    pub sd_mm: f64,
    /// How sure the movement is.
    pub certainty: Certainty,
}

impl Atlas {
    /// What a muscle and its parts do: the strongest first. Empty if it has no line of pull.
    pub fn derived(&self, muscle: &MuscleKey) -> Vec<Derived> {
        let _ = muscle;
        Vec::new()
    }
}
