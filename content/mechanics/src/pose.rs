//! Where everything is when joints are bent.

use std::collections::BTreeMap;

use crate::linkage::{FreedomId, Linkage, Motion, SegmentId};
use crate::vec3::Vec3;

/// Angles of freedoms in radians; those left out are 0, as in the reference posture.
pub type Posture = BTreeMap<FreedomId, f64>;

/// A linkage with its joints bent.
#[derive(Debug, Clone)]
pub struct Pose<'a> {
    linkage: &'a Linkage,
    /// Turns that each segment has made, in order.
    turns: Vec<Vec<Turn>>,
    /// The axes where they are now, by freedom.
    axes: Vec<Vec<Motion>>,
}

#[derive(Debug, Clone, Copy)]
struct Turn {
    about: Motion,
    angle: f64,
}

impl Turn {
    fn place(self, at: Vec3) -> Vec3 {
        let Motion { through, along, pitch, .. } = self.about;
        through + (at - through).turned(along, self.angle) + along * (pitch * self.angle)
    }

    fn direction(self, along: Vec3) -> Vec3 {
        along.turned(self.about.along, self.angle)
    }
}

impl Linkage {
    /// Bends the joints. A motion without a direction of its axis is left out.
    pub fn pose(&self, posture: &Posture) -> Pose<'_> {
        let of_length_1 = |motion: &Motion| {
            let along = motion.along.unit()?;
            Some(Motion { along, ..*motion })
        };
        let axes = self.freedoms.iter().map(|f| f.motions.iter().filter_map(of_length_1).collect());
        let turns = vec![Vec::new(); self.segments.len()];
        let mut pose = Pose { linkage: self, turns, axes: axes.collect() };
        for (&freedom, &angle) in posture {
            for motion in 0..pose.axes(freedom).len() {
                // Looked up anew each time: an earlier motion may have moved it.
                let about = pose.axes(freedom)[motion];
                pose.turn(freedom, Turn { about, angle: angle * about.rate });
            }
        }
        pose
    }
}

impl Pose<'_> {
    /// The linkage that is bent.
    pub fn linkage(&self) -> &Linkage {
        self.linkage
    }

    /// Where a place on a segment is now.
    pub fn place(&self, segment: SegmentId, at: Vec3) -> Vec3 {
        let turns = self.turns.get(segment.0).map(Vec::as_slice).unwrap_or_default();
        turns.iter().fold(at, |at, turn| turn.place(at))
    }

    /// The axes of a freedom where they are now, their directions of length 1.
    pub fn axes(&self, freedom: FreedomId) -> &[Motion] {
        self.axes.get(freedom.0).map(Vec::as_slice).unwrap_or_default()
    }

    /// Turns a segment, what it carries, and the axes that ride on any of it.
    fn turn(&mut self, freedom: FreedomId, turn: Turn) {
        let linkage = self.linkage;
        let turned = |segment| linkage.carries(turn.about.segment, segment);
        for (id, turns) in self.turns.iter_mut().enumerate() {
            if turned(SegmentId(id)) {
                turns.push(turn);
            }
        }
        for (other, axes) in linkage.freedoms.iter().zip(&mut self.axes) {
            let follows = other.turned_by.contains(&freedom);
            for axis in axes {
                let seat = if follows { Some(axis.segment) } else { linkage.carrier(axis.segment) };
                if seat.is_some_and(turned) {
                    axis.through = turn.place(axis.through);
                    axis.along = turn.direction(axis.along);
                }
            }
        }
    }
}
