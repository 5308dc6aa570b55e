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
}

impl Linkage {
    /// Bends the joints. A freedom without a direction of its axis is left out.
    pub fn pose(&self, posture: &Posture) -> Pose<'_> {
        let upright = |motion: &Motion| {
            let along = motion.along.unit()?;
            Some(Motion { along, ..*motion })
        };
        let axes = self.freedoms.iter().map(|f| f.motions.iter().filter_map(upright).collect());
        let turns = vec![Vec::new(); self.segments.len()];
        let mut pose = Pose { linkage: self, turns, axes: axes.collect() };
        for (&freedom, &angle) in posture {
            pose.bend(freedom, angle);
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

    fn bend(&mut self, freedom: FreedomId, angle: f64) {
        let linkage = self.linkage;
        for motion in self.axes(freedom).to_vec() {
            let turn = Turn { about: motion, angle: angle * motion.rate };
            for (id, turns) in self.turns.iter_mut().enumerate() {
                if linkage.carries(motion.segment, SegmentId(id)) {
                    turns.push(turn);
                }
            }
            for (id, (axes, other)) in self.axes.iter_mut().zip(&linkage.freedoms).enumerate() {
                if id == freedom.0 {
                    continue;
                }
                let turned = other.turned_by.contains(&freedom);
                for axis in axes {
                    let base = linkage.segments.get(axis.segment.0).and_then(|s| s.carried_by);
                    if turned || base.is_some_and(|base| linkage.carries(motion.segment, base)) {
                        axis.through = turn.place(axis.through);
                        axis.along = axis.along.turned(turn.about.along, turn.angle);
                    }
                }
            }
        }
    }
}
