//! Why a muscle does what it does.

use crate::course::Course;
use crate::model::MuscleKey;

impl Course {
    /// A sentence for each action that the course teaches: why the muscle does it.
    pub fn explanations(&self, muscle: &MuscleKey) -> Vec<String> {
        let _ = muscle;
        Vec::new()
    }
}
