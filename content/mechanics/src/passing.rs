//! On which side of an axis a line of pull passes.

use crate::arm::{Crossing, Point};
use crate::linkage::FreedomId;
use crate::pose::Pose;
use crate::vec3::Vec3;

/// Where a line of pull passes an axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Passing {
    /// From the axis to the line of pull, drawn out beyond its ends, at right angles to both: the
    /// lever. Its direction says on which side the line passes. Metres.
    pub offset: Vec3,
    /// Place between the ends that is closest to the axis.
    pub at: Vec3,
    /// Direction of the axis, of length 1.
    pub axis: Vec3,
}

impl Pose<'_> {
    /// How the piece of a line that does most at a freedom passes the axis; `None` where the line
    /// does not cross it, or runs through it.
    pub fn passing(&self, freedom: FreedomId, path: &[Point]) -> Option<Passing> {
        let strength = |crossing: &Crossing| crossing.shortening.abs();
        let crossings = self.crossings(freedom, path).into_iter();
        let most = crossings.max_by(|a, b| strength(a).total_cmp(&strength(b)))?;
        let passing = pass(&most);
        passing.offset.unit().map(|_| passing)
    }
}

fn pass(&Crossing { from, to, motion, .. }: &Crossing) -> Passing {
    let axis = motion.along;
    // Seen along the axis the piece is a stretch in a plane and the axis a point.
    let start = (from - motion.through).across(axis);
    let run = (to - from).across(axis);
    let length = run.dot(run);
    // A piece along the axis is as close everywhere.
    let share = if length > 1e-12 { -start.dot(run) / length } else { 0.5 };
    let at = from + (to - from) * share.clamp(0.0, 1.0);
    Passing { offset: start + run * share, at, axis }
}
