//! On which side of an axis a line of pull passes.

use crate::arm::{Crossing, Point};
use crate::linkage::FreedomId;
use crate::pose::Pose;
use crate::vec3::Vec3;

/// Where a line of pull passes an axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Passing {
    /// From the axis to the line, at right angles to the axis: its direction says on which side
    /// the line passes. Metres.
    pub offset: Vec3,
    /// Place of the line that is closest to the axis.
    pub at: Vec3,
    /// Direction of the axis, of length 1.
    pub axis: Vec3,
}

impl Pose<'_> {
    /// Where the piece of a line that does most at a freedom passes the axis; `None` where the line
    /// does not cross it, or runs through it.
    pub fn passing(&self, freedom: FreedomId, path: &[Point]) -> Option<Passing> {
        let strength = |crossing: &Crossing| crossing.shortening.abs();
        let most = self
            .crossings(freedom, path)
            .into_iter()
            .max_by(|a, b| strength(a).total_cmp(&strength(b)))?;
        let at = closest(&most);
        let axis = most.motion.along;
        let offset = (at - most.motion.through).across(axis);
        offset.unit().map(|_| Passing { offset, at, axis })
    }
}

/// The place of a piece that is closest to the axis that it crosses.
fn closest(&Crossing { from, to, motion, .. }: &Crossing) -> Vec3 {
    // Seen along the axis the piece is a stretch in a plane and the axis a point.
    let start = (from - motion.through).across(motion.along);
    let run = (to - from).across(motion.along);
    let length = run.dot(run);
    let share = if length > 1e-12 { (-start.dot(run) / length).clamp(0.0, 1.0) } else { 0.5 };
    from + (to - from) * share
}
