//! On which side of an axis a line of pull passes.

use crate::arm::{Piece, Point};
use crate::linkage::{FreedomId, Motion};
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
    /// The piece of a line that does most at a freedom, and where it passes the axis; `None` where
    /// the line does not cross it, or runs through it.
    pub fn passing(&self, freedom: FreedomId, path: &[Point]) -> Option<Passing> {
        if !self.crosses(freedom, path) {
            return None;
        }
        let pieces = self.shortenings(freedom, path);
        let piece = pieces.iter().max_by(|a, b| a.by.abs().total_cmp(&b.by.abs()))?;
        let moved = path.iter().find(|point| self.linkage().moves(freedom, point.segment))?;
        let motion = self
            .axes(freedom)
            .iter()
            .find(|motion| self.linkage().carries(motion.segment, moved.segment))?;
        let at = closest(motion, piece);
        let offset = (at - motion.through).across(motion.along);
        offset.unit().map(|_| Passing { offset, at, axis: motion.along })
    }
}

/// The place of a piece that is closest to an axis.
fn closest(axis: &Motion, piece: &Piece) -> Vec3 {
    // Seen along the axis the piece is a segment and the axis a point.
    let from = (piece.from - axis.through).across(axis.along);
    let run = (piece.to - piece.from).across(axis.along);
    let length = run.dot(run);
    let share = if length > 1e-12 { (-from.dot(run) / length).clamp(0.0, 1.0) } else { 0.5 };
    piece.from + (piece.to - piece.from) * share
}
