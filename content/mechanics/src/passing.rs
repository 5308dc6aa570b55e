//! On which side of an axis a line of pull passes.

use crate::arm::{Crossing, Point};
use crate::linkage::FreedomId;
use crate::pose::Pose;
use crate::vec3::Vec3;

/// Where a line of pull passes an axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Passing {
    /// From the axis to the line that the piece lies on, at right angles to both: its direction
    /// says on which side the pull passes, and its length is the lever. Metres.
    pub offset: Vec3,
    /// Place of the piece itself that is closest to the axis.
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
        let share = closest(&most);
        let Crossing { from, to, motion, .. } = most;
        let place = |share: f64| from + (to - from) * share;
        let offset = (place(share) - motion.through).across(motion.along);
        let at = place(share.clamp(0.0, 1.0));
        offset.unit().map(|_| Passing { offset, at, axis: motion.along })
    }
}

/// How far along a piece, as a share of it, its line is closest to the axis that it crosses: below
/// 0 and above 1 beyond its ends.
fn closest(&Crossing { from, to, motion, .. }: &Crossing) -> f64 {
    // Seen along the axis the piece is a stretch in a plane and the axis a point.
    let start = (from - motion.through).across(motion.along);
    let run = (to - from).across(motion.along);
    let length = run.dot(run);
    if length > 1e-12 { -start.dot(run) / length } else { 0.5 }
}
