//! Where things are: landmarks with coordinates, joints as axes, lines of pull, shapes of bones.
//!
//! Right side of the body; X forwards, Y up, Z to the right; metres; one reference posture, with
//! the arm hanging, the elbow straight, the palm forward and the legs straight.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use myonym_mechanics::{FreedomId, Linkage, Point, Posture, SegmentId, Vec3};

use crate::derived::Derived;
use crate::model::{
    Action, BoneKey, FreedomKey, JointKey, LandmarkKey, MovementKey, MuscleKey, PartKey,
    SegmentKey, SourceKey, Span,
};

/// Landmarks, joints, lines of pull and bones in space.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Atlas {
    /// Segments and freedoms as the mechanics sees them.
    pub linkage: Linkage,
    /// The segments, by key.
    pub segments: BTreeMap<SegmentKey, SegmentId>,
    /// The freedoms in the order of the linkage.
    pub freedoms: Vec<JointFreedom>,
    /// Where landmarks lie.
    pub positions: BTreeMap<LandmarkKey, Position>,
    /// Lines of pull, by muscle.
    pub lines: BTreeMap<MuscleKey, Vec<Line>>,
    /// Shapes of bones.
    pub shapes: Vec<Shape>,
    /// Postures that the conditions of actions mean.
    pub conditions: Vec<Condition>,
    /// Taught actions that the atlas is known not to bear out.
    pub misses: Vec<Miss>,
    /// What was derived, once it was asked for.
    pub kept: Kept,
}

/// A taught action that the atlas is known not to bear out, with the reason.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Miss {
    /// The muscle.
    pub muscle: MuscleKey,
    /// The part that the action is said of.
    pub part: Option<PartKey>,
    /// The joint.
    pub joint: JointKey,
    /// The movement.
    pub movement: MovementKey,
    /// Why: words that follow a colon.
    pub why: String,
}

/// A condition of an action, such as `from the flexed position`, as a posture.
#[derive(Debug, Clone, PartialEq)]
pub struct Condition {
    /// The joint of the actions that it is said of.
    pub joint: JointKey,
    /// Its words, as in the data of the action.
    pub words: String,
    /// The posture.
    pub posture: Posture,
}

/// Derived actions by muscle, each found when it is first asked for. Kept ones do not tell two
/// atlases apart.
#[derive(Debug, Clone, Default)]
pub struct Kept(OnceLock<BTreeMap<MuscleKey, OnceLock<Vec<Derived>>>>);

impl Kept {
    /// What is kept of a muscle with lines of pull, or what `derive` finds.
    pub(crate) fn or_derive(
        &self,
        lines: &BTreeMap<MuscleKey, Vec<Line>>,
        muscle: &MuscleKey,
        derive: impl FnOnce() -> Vec<Derived>,
    ) -> &[Derived] {
        let empty = || lines.keys().map(|key| (key.clone(), OnceLock::new())).collect();
        let kept = self.0.get_or_init(empty).get(muscle);
        kept.map(|kept| kept.get_or_init(derive).as_slice()).unwrap_or_default()
    }
}

impl PartialEq for Kept {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

/// One axis about which a joint turns.
#[derive(Debug, Clone, PartialEq)]
pub struct JointFreedom {
    /// Its key.
    pub key: FreedomKey,
    /// Its place in the linkage.
    pub id: FreedomId,
    /// The joint.
    pub joint: JointKey,
    /// The movement to the positive side.
    pub positive: MovementKey,
    /// The movement to the negative side. Where a movement is the same to the other side (lateral
    /// flexion) both are that movement, and the positive side is the right.
    pub negative: MovementKey,
    /// The axis in words that follow `the`, such as `long axis of the shoulder joint`.
    pub axis: String,
    /// Postures in which its actions are read; the best of them counts. At least one.
    pub judged_at: Vec<Posture>,
    /// Who says where the axis lies.
    pub sources: Vec<SourceKey>,
}

impl JointFreedom {
    /// The sign of a movement of this freedom; `None` for a movement of another. Lateral flexion
    /// counts as positive: towards the muscle's own side.
    pub fn sign(&self, movement: &MovementKey) -> Option<f64> {
        if *movement == self.positive {
            Some(1.0)
        } else {
            (*movement == self.negative).then_some(-1.0)
        }
    }

    /// The movement that a moment arm of this sign makes; `None` where it has no name of its own
    /// (lateral flexion to the other side).
    pub fn movement(&self, arm_mm: f64) -> Option<&MovementKey> {
        if arm_mm > 0.0 {
            Some(&self.positive)
        } else {
            (self.negative != self.positive).then_some(&self.negative)
        }
    }
}

/// Where a landmark lies.
#[derive(Debug, Clone, PartialEq)]
pub struct Position {
    /// What it moves with.
    pub segment: SegmentId,
    /// The place, or one for each of a row of bones, by their number, such as `T2`.
    pub at: Place,
    /// Standard deviation of each coordinate, in metres.
    pub spread: f64,
    /// Who says so.
    pub sources: Vec<SourceKey>,
}

/// One place, or one for each of a row.
#[derive(Debug, Clone, PartialEq)]
pub enum Place {
    /// A single place.
    One(Vec3),
    /// Places of a row of like bones, by number.
    Each(BTreeMap<String, Vec3>),
}

impl Place {
    /// The place of the first bone of a span, of a single place, or else the middle of the row.
    pub fn of(&self, span: Option<&Span>) -> Option<Vec3> {
        match self {
            Self::One(at) => Some(*at),
            Self::Each(row) => match span {
                Some(span) => row.get(&span.from).copied(),
                None => middle(row.values().copied()),
            },
        }
    }
}

/// A line of pull of a muscle or of a part of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// The part that it belongs to; `None` for the whole muscle.
    pub part: Option<PartKey>,
    /// Words that tell several lines apart, such as `upper fibres`.
    pub name: Option<String>,
    /// From the origin over via points to the insertion: two or more.
    pub stops: Vec<Stop>,
}

impl Line {
    /// Its points at the reference posture.
    pub fn points(&self) -> Vec<Point> {
        self.points_at(&Posture::new())
    }

    /// Its points in a posture: a via point that lets go before is left out.
    pub fn points_at(&self, posture: &Posture) -> Vec<Point> {
        let holds = |stop: &&Stop| {
            stop.until.is_none_or(|(freedom, limit)| {
                posture.get(&freedom).copied().unwrap_or_default() <= limit
            })
        };
        self.stops.iter().filter(holds).map(|stop| stop.point).collect()
    }
}

/// A point of a line of pull.
#[derive(Debug, Clone, PartialEq)]
pub struct Stop {
    /// What it is.
    pub kind: StopKind,
    /// Where it is.
    pub point: Point,
    /// For a via point: the angle of a freedom, in radians, beyond which the line lifts off it.
    pub until: Option<(FreedomId, f64)>,
    /// Who says so; empty where it is the landmark's own position.
    pub sources: Vec<SourceKey>,
}

/// What a point of a line is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum StopKind {
    /// An attachment on a landmark.
    Attachment(LandmarkKey),
    /// A place that the line bends over, with the reason in words.
    Via(String),
}

/// A bone as solids.
#[derive(Debug, Clone, PartialEq)]
pub struct Shape {
    /// The bone.
    pub bone: BoneKey,
    /// What it moves with.
    pub segment: SegmentId,
    /// Each the convex hull of its balls.
    pub solids: Vec<Vec<Ball>>,
}

/// A ball that bones are made of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ball {
    /// Its middle.
    pub at: Vec3,
    /// Its radius in metres.
    pub radius: f64,
}

impl Atlas {
    /// The lines of pull of a muscle; empty if it has none.
    pub fn lines(&self, muscle: &MuscleKey) -> &[Line] {
        self.lines.get(muscle).map(Vec::as_slice).unwrap_or_default()
    }

    /// The freedom at which a joint makes a movement.
    pub fn freedom(&self, joint: &JointKey, movement: &MovementKey) -> Option<&JointFreedom> {
        self.freedoms.iter().find(|f| f.joint == *joint && f.sign(movement).is_some())
    }

    /// The known reason why an action of a muscle is not borne out.
    pub fn miss(&self, muscle: &MuscleKey, action: &Action) -> Option<&Miss> {
        self.misses.iter().find(|miss| {
            miss.muscle == *muscle
                && miss.part == action.part
                && miss.joint == action.joint
                && miss.movement == action.movement
        })
    }

    /// The freedom with this key.
    pub fn freedom_by_key(&self, key: &FreedomKey) -> Option<&JointFreedom> {
        self.freedoms.iter().find(|freedom| freedom.key == *key)
    }
}

/// The mean of places.
fn middle(places: impl ExactSizeIterator<Item = Vec3>) -> Option<Vec3> {
    let count = u32::try_from(places.len()).ok().filter(|count| *count > 0)?;
    let sum = places.fold(Vec3::default(), |sum, place| sum + place);
    Some(sum * (1.0 / f64::from(count)))
}
