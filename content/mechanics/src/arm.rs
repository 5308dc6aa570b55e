//! Moment arms.

use crate::linkage::{FreedomId, Motion, SegmentId};
use crate::pose::Pose;
use crate::vec3::Vec3;

/// A point of a line of pull, in the reference posture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// What it moves with.
    pub segment: SegmentId,
    /// Where it is.
    pub at: Vec3,
    /// Standard deviation of each of its coordinates, in metres.
    pub spread: f64,
}

impl Pose<'_> {
    /// How fast a place, where it is now, moves for each radian of a freedom, in metres.
    pub fn velocity(&self, freedom: FreedomId, segment: SegmentId, now: Vec3) -> Vec3 {
        self.axes(freedom)
            .iter()
            .filter(|motion| self.linkage().carries(motion.segment, segment))
            .fold(Vec3::default(), |sum, motion| sum + velocity(motion, now))
    }

    /// Whether a freedom can change the length of a line of pull: a motion moves one end of one of
    /// its pieces and not the other.
    pub fn crosses(&self, freedom: FreedomId, path: &[Point]) -> bool {
        !self.crossings(freedom, path).is_empty()
    }

    /// Moment arm of a line of pull about a freedom, in millimetres: how much it shortens for each
    /// radian of a small turn added to the pose. Positive where shortening turns the freedom to its
    /// positive side; `None` where the line does not cross it.
    ///
    /// With v and v' the velocities of the ends of a piece and u its direction, the line lengthens
    /// by the sum of u . (v' - v) over its pieces. The arm as the length's derivative: Sherman,
    /// Seth and Delp 2013, *What is a moment arm?* (PMC4404026).
    pub fn arm_mm(&self, freedom: FreedomId, path: &[Point]) -> Option<f64> {
        let crossings = self.crossings(freedom, path);
        let shortening = || crossings.iter().map(|crossing| crossing.shortening).sum::<f64>();
        (!crossings.is_empty()).then(|| shortening() * 1e3)
    }

    /// Where a line crosses the axes of a freedom. A motion that moves both ends of a piece leaves
    /// its length alone, so that these are all that counts.
    pub(crate) fn crossings(&self, freedom: FreedomId, path: &[Point]) -> Vec<Crossing> {
        let place = |point: &Point| (point.segment, self.place(point.segment, point.at));
        let placed: Vec<_> = path.iter().map(place).collect();
        let mut crossings = Vec::new();
        for (&(near, from), &(far, to)) in placed.iter().zip(placed.iter().skip(1)) {
            // A piece without length has no direction, and pulls at nothing.
            let along = (to - from).unit().unwrap_or_default();
            for &motion in self.axes(freedom) {
                let moves = |segment| self.linkage().carries(motion.segment, segment);
                let shortening = match (moves(near), moves(far)) {
                    (true, false) => along.dot(velocity(&motion, from)),
                    (false, true) => -along.dot(velocity(&motion, to)),
                    (true, true) | (false, false) => continue,
                };
                crossings.push(Crossing { from, to, motion, shortening });
            }
        }
        crossings
    }
}

/// A straight piece of a line of pull, and a motion that moves only one of its ends.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Crossing {
    pub(crate) from: Vec3,
    pub(crate) to: Vec3,
    pub(crate) motion: Motion,
    /// For each radian of the freedom, in metres.
    pub(crate) shortening: f64,
}

/// How fast a place that takes part in a motion moves for each radian of the freedom, in metres.
fn velocity(motion: &Motion, now: Vec3) -> Vec3 {
    (motion.along.cross(now - motion.through) + motion.along * motion.pitch) * motion.rate
}
