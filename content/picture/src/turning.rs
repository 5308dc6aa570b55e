//! What a muscle does, as axes in space.

use myonym_content::Atlas;
use myonym_content::atlas::JointFreedom;
use myonym_content::derived::Derived;
use myonym_content::model::MuscleKey;
use myonym_mechanics::{Certainty, Motion, Posture};
use myonym_wire::View;

use crate::flat::sight;

/// A freedom that a muscle turns.
#[derive(Debug, Clone)]
pub(crate) struct Turning<'a> {
    pub(crate) freedom: &'a JointFreedom,
    /// What turns, and about which axis.
    pub(crate) motion: Motion,
    /// Moment arm, positive to the freedom's positive side.
    pub(crate) arm_mm: f64,
    /// Whether its sign is sure enough to say which way it goes.
    pub(crate) sure: bool,
}

impl Turning<'_> {
    /// How much of its moment arm a view shows: all of it to one who looks along the axis.
    pub(crate) fn shown_mm(&self, view: View) -> f64 {
        self.arm_mm.abs() * self.motion.along.dot(sight(view)).abs()
    }
}

/// What a muscle turns: what is sure, else what is likely, else anything. Where it acts as a whole
/// its parts are left out.
pub(crate) fn turnings<'a>(atlas: &'a Atlas, muscle: &MuscleKey) -> Vec<Turning<'a>> {
    let derived = atlas.derived(muscle);
    let whole: Vec<&Derived> = derived.iter().filter(|one| one.part.is_none()).collect();
    let all = if whole.is_empty() { derived.iter().collect() } else { whole };
    let surest = all.iter().map(|one| one.certainty).max();
    let kept = all.into_iter().filter(|one| Some(one.certainty) == surest);
    kept.filter_map(|one| turning(atlas, muscle, one)).collect()
}

fn turning<'a>(atlas: &'a Atlas, muscle: &MuscleKey, derived: &Derived) -> Option<Turning<'a>> {
    let freedom = atlas.freedom_by_key(&derived.freedom)?;
    let pose = atlas.linkage.pose(&Posture::new());
    let ends = atlas.lines(muscle).iter().filter_map(|line| line.stops.last());
    let moved = |motion: &&Motion| {
        ends.clone().any(|stop| atlas.linkage.carries(motion.segment, stop.point.segment))
    };
    let axes = pose.axes(freedom.id);
    let motion = *axes.iter().rev().find(moved).or_else(|| axes.first())?;
    let arm_mm = derived.arm_mm * freedom.sign(&derived.movement)?;
    Some(Turning { freedom, motion, arm_mm, sure: derived.certainty == Certainty::Sure })
}
