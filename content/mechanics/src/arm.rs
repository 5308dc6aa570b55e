//! Moment arms.

use crate::linkage::{FreedomId, SegmentId};
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
            .map(|motion| {
                let turn = motion.along.cross(now - motion.through) + motion.along * motion.pitch;
                turn * motion.rate
            })
            .fold(Vec3::default(), |sum, one| sum + one)
    }

    /// Whether a line of pull joins something that the freedom moves to something that stays.
    pub fn crosses(&self, freedom: FreedomId, path: &[Point]) -> bool {
        let moved = |point: &Point| self.linkage().moves(freedom, point.segment);
        path.iter().any(moved) && !path.iter().all(moved)
    }

    /// Moment arm of a line of pull about a freedom, in millimetres: how much it shortens for each
    /// radian. Positive where shortening turns the freedom to its positive side; `None` where the
    /// line does not cross it.
    ///
    /// With v and v' the velocities of the ends of a piece and u its direction, the line lengthens by
    /// the sum of u . (v' - v) over its pieces (the principle of virtual work; An, Takahashi,
    /// Harrigan and Chao 1984, *Journal of Biomechanical Engineering* 106:280, from memory).
    pub fn arm_mm(&self, freedom: FreedomId, path: &[Point]) -> Option<f64> {
        self.crosses(freedom, path).then(|| {
            self.shortenings(freedom, path).iter().map(|piece| piece.by).sum::<f64>() * 1e3
        })
    }

    /// What each piece of a line shortens for each radian, in metres.
    pub(crate) fn shortenings(&self, freedom: FreedomId, path: &[Point]) -> Vec<Piece> {
        let placed: Vec<(Vec3, Vec3)> = path
            .iter()
            .map(|point| {
                let now = self.place(point.segment, point.at);
                (now, self.velocity(freedom, point.segment, now))
            })
            .collect();
        placed
            .windows(2)
            .map(|pair| {
                let ((from, before), (to, after)) = (pair[0], pair[1]);
                let along = (to - from).unit().unwrap_or_default();
                Piece { from, to, by: -along.dot(after - before) }
            })
            .collect()
    }
}

/// A straight piece of a line of pull, where it is now.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Piece {
    pub(crate) from: Vec3,
    pub(crate) to: Vec3,
    /// Shortening for each radian, in metres.
    pub(crate) by: f64,
}
