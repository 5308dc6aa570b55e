//! The simplest joint.

use myonym_mechanics::{Freedom, FreedomId, Linkage, Motion, Segment, SegmentId, Vec3};

pub(crate) const FLEXION: FreedomId = FreedomId(0);
pub(crate) const TRUNK: SegmentId = SegmentId(0);
pub(crate) const LIMB: SegmentId = SegmentId(1);

/// A limb that hangs down from a hinge at the origin; flexion lifts it forwards.
pub(crate) fn hinge() -> Linkage {
    let along = Vec3::new(0.0, 0.0, 1.0);
    let motion = Motion { segment: LIMB, through: Vec3::default(), along, rate: 1.0, pitch: 0.0 };
    Linkage {
        segments: vec![Segment { carried_by: None }, Segment { carried_by: Some(TRUNK) }],
        freedoms: vec![Freedom { motions: vec![motion], turned_by: Vec::new(), spread: 0.0 }],
    }
}
