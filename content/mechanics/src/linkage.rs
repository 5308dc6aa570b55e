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

/// One segment turning about one axis. The axis rides on what carries the segment.
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
    /// Slide along the axis, in metres for each radian of its own turn; 0 for a pure turn.
    pub pitch: f64,
}

/// One way in which a joint can move: one angle, and what turns with it.
#[derive(Debug, Clone, PartialEq)]
pub struct Freedom {
    /// What turns. A joint of several bones turns more than one, each once and about its own axis.
    pub motions: Vec<Motion>,
    /// Freedoms of the same joint that take these axes along with the segment, as a long axis goes
    /// along when the limb is raised. About an axis that stays, the arm is that of a turn added to
    /// the posture as it is.
    pub turned_by: Vec<FreedomId>,
    /// Standard deviation of where the axis lies, in metres, in each direction across it.
    pub spread: f64,
}

/// Segments and freedoms. Their places are the ids.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Linkage {
    /// The segments.
    pub segments: Vec<Segment>,
    /// The freedoms. A posture applies them in this order, which counts only among those of one
    /// joint that do not turn each other's axes.
    pub freedoms: Vec<Freedom>,
}

impl Linkage {
    /// Whether `segment` is `top` or hangs on it, however far down.
    pub fn carries(&self, top: SegmentId, segment: SegmentId) -> bool {
        // No way up is longer than this, save one that goes round.
        let longest = self.segments.len();
        std::iter::successors(Some(segment), |&at| self.carrier(at))
            .take(longest)
            .any(|at| at == top)
    }

    /// What carries a segment.
    pub(crate) fn carrier(&self, segment: SegmentId) -> Option<SegmentId> {
        self.segments.get(segment.0)?.carried_by
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
