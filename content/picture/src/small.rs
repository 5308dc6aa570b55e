//! A hand-made limb for tests: an upper bone that hangs down from a fixed one, and muscles of it.
//!
//! The hinge lies at the origin, its axis from side to side. The upper bone stays and reaches up
//! from the hinge; the lower bone swings and reaches down.

use std::collections::BTreeMap;

use myonym_content::Atlas;
use myonym_content::atlas::{Ball, JointFreedom, Line, Place, Position, Shape, Stop, StopKind};
use myonym_content::model::{
    Action, Attachment, BoneKey, FreedomKey, JointKey, LandmarkKey, Level, MovementKey, Muscle,
    MuscleKey, RegionKey, Role, SegmentKey,
};
use myonym_content::vocabulary::{Bone, Joint, Landmark, Movement, Vocabulary};
use myonym_mechanics::{
    Freedom, FreedomId, Linkage, Motion, Point, Posture, Segment, SegmentId, Vec3,
};

const UPPER: SegmentId = SegmentId(0);
const LOWER: SegmentId = SegmentId(1);

/// Muscles by their key and their places on the upper and the lower bone.
pub(crate) fn atlas(muscles: &[(&str, [f64; 3], [f64; 3])]) -> Atlas {
    let hinge = Motion {
        segment: LOWER,
        through: Vec3::default(),
        along: Vec3::new(0.0, 0.0, 1.0),
        rate: 1.0,
        pitch: 0.0,
    };
    let linkage = Linkage {
        segments: vec![Segment { carried_by: None }, Segment { carried_by: Some(UPPER) }],
        freedoms: vec![Freedom { motions: vec![hinge], turned_by: Vec::new(), spread: 0.002 }],
    };
    let freedom = JointFreedom {
        key: FreedomKey::new("hinge-flexion"),
        id: FreedomId(0),
        joint: JointKey::new("hinge"),
        positive: MovementKey::new("flexion"),
        negative: MovementKey::new("extension"),
        axis: "side-to-side axis of the hinge joint".to_owned(),
        judged_at: vec![Posture::new()],
        sources: Vec::new(),
    };
    let lines = muscles.iter().map(|(key, from, to)| {
        let stops = vec![stop("ridge", UPPER, *from), stop("knob", LOWER, *to)];
        (MuscleKey::new(*key), vec![Line { part: None, name: None, stops }])
    });
    Atlas {
        linkage,
        segments: BTreeMap::from([
            (SegmentKey::new("upper"), UPPER),
            (SegmentKey::new("lower"), LOWER),
        ]),
        freedoms: vec![freedom],
        positions: BTreeMap::from([
            (LandmarkKey::new("ridge"), position(UPPER, [0.02, 0.2, 0.0])),
            (LandmarkKey::new("knob"), position(LOWER, [0.02, -0.05, 0.0])),
        ]),
        lines: lines.collect(),
        shapes: vec![rod("upper-bone", UPPER, 0.25), rod("lower-bone", LOWER, -0.25)],
        ..Atlas::default()
    }
}

fn stop(landmark: &str, segment: SegmentId, at: [f64; 3]) -> Stop {
    Stop {
        kind: StopKind::Attachment(LandmarkKey::new(landmark)),
        point: Point { segment, at: Vec3::from(at), spread: 0.002 },
        until: None,
        sources: Vec::new(),
    }
}

fn position(segment: SegmentId, at: [f64; 3]) -> Position {
    Position { segment, at: Place::One(Vec3::from(at)), spread: 0.002, sources: Vec::new() }
}

/// A rod from near the hinge to a height.
fn rod(bone: &str, segment: SegmentId, height: f64) -> Shape {
    let ball = |share: f64| Ball { at: Vec3::new(0.0, height * share, 0.0), radius: 0.015 };
    Shape { bone: BoneKey::new(bone), segment, solids: vec![vec![ball(0.1), ball(1.0)]] }
}

/// The words of the limb.
pub(crate) fn vocabulary() -> Vocabulary {
    let bone =
        |name: &str| Bone { name: name.to_owned(), latin: String::new(), plural: false, row: None };
    let landmark = |name: &str, bone: &str| Landmark {
        name: name.to_owned(),
        also: Vec::new(),
        latin: None,
        bone: Some(BoneKey::new(bone)),
        within: None,
        plural: false,
        stands_alone: false,
    };
    let movement = |name: &str, verb: &str, opposite: &str| Movement {
        also: Vec::new(),
        name: name.to_owned(),
        verb: verb.to_owned(),
        opposite: MovementKey::new(opposite),
    };
    let hinge = Joint {
        also: Vec::new(),
        name: "hinge joint".to_owned(),
        segment: "lower limb".to_owned(),
        movements: vec![MovementKey::new("flexion"), MovementKey::new("extension")],
    };
    Vocabulary {
        bones: BTreeMap::from([
            (BoneKey::new("upper-bone"), bone("upper bone")),
            (BoneKey::new("lower-bone"), bone("lower bone")),
        ]),
        landmarks: BTreeMap::from([
            (LandmarkKey::new("ridge"), landmark("ridge", "upper-bone")),
            (LandmarkKey::new("knob"), landmark("knob", "lower-bone")),
        ]),
        joints: BTreeMap::from([(JointKey::new("hinge"), hinge)]),
        movements: BTreeMap::from([
            (MovementKey::new("flexion"), movement("flexion", "flexes {}", "extension")),
            (MovementKey::new("extension"), movement("extension", "extends {}", "flexion")),
        ]),
        ..Vocabulary::default()
    }
}

/// A muscle from the ridge to the knob that is taught to make a movement.
pub(crate) fn muscle(key: &str, movement: &str) -> Muscle {
    let attachment = |landmark: &str| Attachment {
        landmark: LandmarkKey::new(landmark),
        span: None,
        portion: None,
        part: None,
        level: Level::Introductory,
        sources: Vec::new(),
        variants: Vec::new(),
    };
    let action = Action {
        joint: JointKey::new("hinge"),
        movement: MovementKey::new(movement),
        role: Role::PrimeMover,
        part: None,
        condition: None,
        level: Level::Introductory,
        sources: Vec::new(),
    };
    Muscle {
        key: MuscleKey::new(key),
        name: key.replace('-', " "),
        latin: String::new(),
        synonyms: Vec::new(),
        abbreviations: Vec::new(),
        region: RegionKey::new("limb"),
        groups: Vec::new(),
        parts: Vec::new(),
        origins: vec![attachment("ridge")],
        insertions: vec![attachment("knob")],
        actions: vec![action],
        innervation: Vec::new(),
    }
}

/// A muscle before the hinge.
pub(crate) const BEFORE: (&str, [f64; 3], [f64; 3]) =
    ("bender", [0.03, 0.2, 0.0], [0.03, -0.06, 0.0]);
/// A muscle behind the hinge.
pub(crate) const BEHIND: (&str, [f64; 3], [f64; 3]) =
    ("stretcher", [-0.03, 0.2, 0.0], [-0.03, -0.06, 0.0]);
