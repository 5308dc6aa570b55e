//! Segments, which carries which, and the freedoms of the joints between them.

use crate::vec3::Vec3;

/// A segment of a [`Linkage`], by its place in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SegmentId(pub usize);

/// A freedom of a [`Linkage`], by its place in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FreedomId(pub usize);

/// What moves as one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Segment {
    /// The segment that takes it along; `None` for the one that everything hangs on.
    pub carried_by: Option<SegmentId>,
}

/// One segment turning about one axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Motion {
    /// What turns, with all that it carries.
    pub segment: SegmentId,
    /// A place on the axis.
    pub through: Vec3,
    /// Direction of the axis, of any length; a positive angle turns by the right-hand rule.
    pub along: Vec3,
    /// Turn of this segment for each unit of the freedom; 1 but for a segment that follows another.
    pub rate: f64,
    /// Slide along the axis, in metres for each radian; 0 for a pure turn.
    pub pitch: f64,
}

/// One way in which a joint can move: one angle, and what turns with it.
#[derive(Debug, Clone, PartialEq)]
pub struct Freedom {
    /// What turns. A joint of several bones turns more than one, each about its own axis.
    pub motions: Vec<Motion>,
    /// Other freedoms whose angle turns these axes along.
    pub turned_by: Vec<FreedomId>,
    /// Standard deviation of where the axis lies, in metres, across it.
    pub spread: f64,
}

/// Segments and freedoms. Their places are the ids.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Linkage {
    /// The segments.
    pub segments: Vec<Segment>,
    /// The freedoms; a posture applies them in this order, so those nearer to the trunk come first.
    pub freedoms: Vec<Freedom>,
}

impl Linkage {
    /// Whether `segment` is `top` or hangs on it, however far down.
    pub fn carries(&self, top: SegmentId, segment: SegmentId) -> bool {
        let up = |at: &SegmentId| self.segments.get(at.0)?.carried_by;
        std::iter::successors(Some(segment), up).take(self.segments.len()).any(|at| at == top)
    }

    /// The freedom with this id.
    pub fn freedom(&self, id: FreedomId) -> Option<&Freedom> {
        self.freedoms.get(id.0)
    }

    /// Whether a freedom moves a segment.
    pub fn moves(&self, freedom: FreedomId, segment: SegmentId) -> bool {
        self.freedom(freedom).is_some_and(|freedom| {
            freedom.motions.iter().any(|motion| self.carries(motion.segment, segment))
        })
    }
}
