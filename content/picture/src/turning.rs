//! What a muscle does, as axes in space.

use myonym_content::Atlas;
use myonym_content::atlas::{Ball, Line, Shape};
use myonym_content::derived::{Derived, LEAST_MM};
use myonym_content::model::{Muscle, MuscleKey, Role};
use myonym_mechanics::{Certainty, FreedomId, Motion, Posture, Vec3};
use myonym_wire::View;

use crate::flat::sight;

/// A freedom that a muscle turns.
#[derive(Debug, Clone)]
pub(crate) struct Turning {
    /// What turns, and about which axis.
    pub(crate) motion: Motion,
    /// What the muscle does at it.
    pub(crate) derived: Derived,
    /// Moment arm, positive to the freedom's positive side.
    pub(crate) arm_mm: f64,
    /// The share of the muscle's lines that do it: less than 1 for a part of it.
    pub(crate) share: f64,
    /// How the bone goes.
    pub(crate) course: Course,
    /// Whether bones that move and bones that stay meet at the axis.
    pub(crate) jointed: bool,
}

/// How a bone goes when a freedom turns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Course {
    /// It swings about an axis across it, as a forearm at the elbow.
    Swings,
    /// It turns about its own length, as a humerus that is rotated.
    Twists,
    /// It slides, its axis far away, as a scapula over the ribs.
    Slides,
}

/// A bone that is farther from an axis than this does not turn on it but slides, in metres.
const TOUCHES: f64 = 0.04;
/// What one sees of a twist from the side: an arrow round the bone, but not on which side of the
/// axis the muscle passes. Our estimate.
const TWIST_FROM_THE_SIDE: f64 = 0.6;

impl Turning {
    /// Whether it is sure and strong enough to say which way the bone goes.
    pub(crate) fn is_sure(&self) -> bool {
        self.derived.certainty == Certainty::Sure && self.derived.arm_mm >= LEAST_MM
    }

    /// The moment arm as it counts for the whole muscle, in millimetres.
    pub(crate) fn weight_mm(&self) -> f64 {
        self.arm_mm.abs() * self.share
    }

    /// How much a view shows of what it does, from 0 to 1, where the insertion is at `end`. Of a
    /// swing one sees all along the axis and nothing across it; of a slide the way that lies across
    /// the line of sight.
    pub(crate) fn seen(&self, view: View, end: Vec3) -> f64 {
        let along = self.motion.along.dot(sight(view)).abs();
        match self.course {
            Course::Swings => along,
            Course::Twists => along.max(TWIST_FROM_THE_SIDE),
            Course::Slides => self.way(end).map_or(0.0, |way| way.across(sight(view)).norm()),
        }
    }

    /// The middle of the joint; `None` where the axis is far from it.
    pub(crate) fn joint(&self) -> Option<Vec3> {
        self.jointed.then_some(self.motion.through)
    }

    /// The direction in which the freedom's positive side takes a place.
    fn way(&self, place: Vec3) -> Option<Vec3> {
        let Motion { through, along, pitch, .. } = self.motion;
        (along.cross(place - through) + along * pitch).unit()
    }
}

/// All that a muscle and its parts turn, sure or not.
pub(crate) fn turnings(atlas: &Atlas, muscle: &MuscleKey) -> Vec<Turning> {
    atlas.derived(muscle).iter().cloned().filter_map(|one| turning(atlas, muscle, one)).collect()
}

/// What a picture shows of all that a muscle turns: the sure ones of its chief actions; if there is
/// none, of its actions; else all that is sure of the muscle as a whole; else all of it.
pub(crate) fn shown(turnings: &[Turning], muscle: &Muscle) -> Vec<Turning> {
    let taught = |turning: &Turning, roles: &[Role]| {
        let derived = &turning.derived;
        muscle.actions.iter().any(|action| {
            roles.contains(&action.role)
                && action.part == derived.part
                && action.joint == derived.joint
                && action.movement == derived.movement
        })
    };
    let tests: [&dyn Fn(&Turning) -> bool; 4] = [
        &|one| one.is_sure() && taught(one, &[Role::PrimeMover]),
        &|one| one.is_sure() && taught(one, &[Role::PrimeMover, Role::Assists]),
        &|one| one.is_sure() && one.derived.part.is_none(),
        &|one| one.derived.part.is_none(),
    ];
    let kept = |test: &&dyn Fn(&Turning) -> bool| -> Vec<Turning> {
        turnings.iter().filter(|one| test(one)).cloned().collect()
    };
    tests.iter().map(kept).find(|kept| !kept.is_empty()).unwrap_or_default()
}

/// A derived action in space.
pub(crate) fn turning(atlas: &Atlas, muscle: &MuscleKey, derived: Derived) -> Option<Turning> {
    let freedom = atlas.freedom_by_key(&derived.freedom)?;
    let pose = atlas.linkage.pose(&Posture::new());
    let ends = atlas.lines(muscle).iter().filter_map(|line| line.stops.last());
    let moved = |motion: &&Motion| {
        ends.clone().any(|stop| atlas.linkage.carries(motion.segment, stop.point.segment))
    };
    // Of several motions of one joint the one that the insertion rides on: the last, which is
    // nearest to it.
    let axes = pose.axes(freedom.id);
    let motion = *axes.iter().rev().find(moved).or_else(|| axes.first())?;
    let arm_mm = derived.arm_mm * freedom.sign(&derived.movement)?;
    let lines = atlas.lines(muscle);
    let concerned = |line: &&Line| derived.part.is_none() || line.part == derived.part;
    let concerned = lines.iter().filter(concerned).count();
    let share = ratio(concerned, lines.len());
    let (course, jointed) = (course(atlas, &motion), jointed(atlas, freedom.id, &motion));
    Some(Turning { motion, derived, arm_mm, share, course, jointed })
}

/// Whether a bone that a freedom moves and one that it leaves lie close to the axis's place.
fn jointed(atlas: &Atlas, freedom: FreedomId, motion: &Motion) -> bool {
    let close = |shape: &&Shape| {
        let mut balls = shape.solids.iter().flatten();
        balls.any(|ball| (ball.at - motion.through).norm() - ball.radius < TOUCHES)
    };
    let near = || atlas.shapes.iter().filter(close);
    let moves = |shape: &Shape| atlas.linkage.moves(freedom, shape.segment);
    near().any(moves) && !near().all(moves)
}

fn ratio(part: usize, whole: usize) -> f64 {
    let number = |count: usize| f64::from(u32::try_from(count).unwrap_or(u32::MAX));
    number(part) / number(whole.max(1))
}

/// How the bones of the segment that turns lie about its axis.
fn course(atlas: &Atlas, motion: &Motion) -> Course {
    let shapes = atlas.shapes.iter().filter(|shape| shape.segment == motion.segment);
    let balls = || shapes.clone().flat_map(|shape| shape.solids.iter().flatten());
    let off = |ball: &Ball| (ball.at - motion.through).across(motion.along).norm();
    let nearest = balls().map(|ball| off(ball) - ball.radius).fold(f64::INFINITY, f64::min);
    let farthest = balls().map(off).fold(0.0, f64::max);
    let along = balls().map(|ball| ball.at.dot(motion.along));
    let length =
        along.clone().fold(f64::NEG_INFINITY, f64::max) - along.fold(f64::INFINITY, f64::min);
    if balls().next().is_none() {
        Course::Swings
    } else if nearest > TOUCHES {
        Course::Slides
    } else if length > 2.0 * farthest {
        Course::Twists
    } else {
        Course::Swings
    }
}
