//! Random linkages, postures and lines of pull.

use myonym_mechanics::{
    Freedom, FreedomId, Linkage, Motion, Point, Pose, Posture, Segment, SegmentId, Vec3,
};
use proptest::prelude::*;

/// A linkage with bent joints, and a line of pull.
#[derive(Debug, Clone)]
pub(crate) struct Scene {
    pub(crate) linkage: Linkage,
    pub(crate) posture: Posture,
    pub(crate) path: Vec<Point>,
}

impl Scene {
    pub(crate) fn pose(&self) -> Pose<'_> {
        self.linkage.pose(&self.posture)
    }

    pub(crate) fn freedoms(&self) -> impl Iterator<Item = FreedomId> + use<> {
        (0..self.linkage.freedoms.len()).map(FreedomId)
    }

    /// Length of the line, in millimetres, with a freedom turned further.
    pub(crate) fn length_mm(&self, freedom: FreedomId, by: f64) -> f64 {
        let mut posture = self.posture.clone();
        *posture.entry(freedom).or_default() += by;
        let pose = self.linkage.pose(&posture);
        let places: Vec<Vec3> =
            self.path.iter().map(|point| pose.place(point.segment, point.at)).collect();
        places.windows(2).map(|pair| (pair[1] - pair[0]).norm()).sum::<f64>() * 1e3
    }

    /// What a line shortens for each radian, by differences of its length.
    pub(crate) fn shortening_mm(&self, freedom: FreedomId) -> f64 {
        let step = 1e-5;
        (self.length_mm(freedom, -step) - self.length_mm(freedom, step)) / (2.0 * step)
    }

    /// Whether all pieces are long enough for differences to tell a derivative.
    pub(crate) fn is_stretched(&self) -> bool {
        let pose = self.pose();
        let place = |point: &Point| pose.place(point.segment, point.at);
        self.path.windows(2).all(|pair| (place(&pair[1]) - place(&pair[0])).norm() > 0.02)
    }
}

/// Which freedoms of one joint take each other's axes along.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Nesting {
    /// As the angles of a joint are counted: of any two freedoms one takes the other's axes along.
    Ordered,
    /// At random, also both or neither.
    Any,
}

const SEGMENTS: usize = 5;
const FREEDOMS: usize = 4;

pub(crate) fn place() -> impl Strategy<Value = Vec3> {
    prop::array::uniform3(-0.5..0.5).prop_map(Vec3::from)
}

pub(crate) fn direction() -> impl Strategy<Value = Vec3> {
    place().prop_filter("a direction", |along| along.norm() > 0.05)
}

fn motion() -> impl Strategy<Value = Motion> {
    let rate = prop_oneof![Just(1.0), -2.0..2.0];
    let pitch = prop_oneof![Just(0.0), -0.05..0.05];
    (1..SEGMENTS, place(), direction(), rate, pitch).prop_map(
        |(segment, through, along, rate, pitch)| {
            let segment = SegmentId(segment);
            Motion { segment, through, along, rate, pitch }
        },
    )
}

/// Motions of one freedom, no segment twice.
fn motions() -> impl Strategy<Value = Vec<Motion>> {
    prop::collection::vec(motion(), 1..3).prop_map(|mut motions| {
        motions.dedup_by_key(|motion| motion.segment);
        motions
    })
}

/// Segments that each hang on an earlier one, and freedoms between them.
fn linkage(nesting: Nesting) -> impl Strategy<Value = Linkage> {
    let carriers = (0..SEGMENTS).map(|id| 0..id.max(1)).collect::<Vec<_>>();
    let order = Just((0..FREEDOMS).collect::<Vec<_>>()).prop_shuffle();
    let links = prop::collection::vec(any::<bool>(), FREEDOMS * FREEDOMS);
    (carriers, prop::collection::vec(motions(), FREEDOMS), order, links).prop_map(
        move |(carriers, motions, order, links)| {
            let carrier = |(id, carrier): (usize, usize)| Segment {
                carried_by: (id > 0).then_some(SegmentId(carrier)),
            };
            let turns = |by: usize, id: usize| match nesting {
                Nesting::Ordered => order[by] < order[id],
                Nesting::Any => by != id && links[by * FREEDOMS + id],
            };
            let freedom = |(id, motions): (usize, Vec<Motion>)| Freedom {
                motions,
                turned_by: (0..FREEDOMS).filter(|&by| turns(by, id)).map(FreedomId).collect(),
                spread: 0.0,
            };
            Linkage {
                segments: carriers.into_iter().enumerate().map(carrier).collect(),
                freedoms: motions.into_iter().enumerate().map(freedom).collect(),
            }
        },
    )
}

fn point() -> impl Strategy<Value = Point> {
    (0..SEGMENTS, place()).prop_map(|(segment, at)| Point {
        segment: SegmentId(segment),
        at,
        spread: 0.0,
    })
}

pub(crate) fn scene(nesting: Nesting) -> impl Strategy<Value = Scene> {
    let angles = prop::collection::vec(-1.5..1.5, FREEDOMS);
    (linkage(nesting), angles, prop::collection::vec(point(), 2..6))
        .prop_map(|(linkage, angles, path)| {
            let posture = angles.into_iter().enumerate();
            let posture = posture.map(|(id, angle)| (FreedomId(id), angle)).collect();
            Scene { linkage, posture, path }
        })
        .prop_filter("no piece without length", Scene::is_stretched)
}
