//! What a muscle does, derived from where it is attached.

pub use myonym_mechanics::Certainty;
use myonym_mechanics::{Estimate, Posture};

use crate::atlas::{Atlas, JointFreedom, Line, Stop};
use crate::model::{FreedomKey, JointKey, MovementKey, MuscleKey, PartKey};

/// Moment arms below this do nothing that a course would teach, in millimetres.
pub const LEAST_MM: f64 = 5.0;

/// An action derived from the atlas: of a muscle, or of one of its parts.
#[derive(Debug, Clone, PartialEq)]
pub struct Derived {
    /// The part; `None` for the whole muscle.
    pub part: Option<PartKey>,
    /// The freedom.
    pub freedom: FreedomKey,
    /// Its joint.
    pub joint: JointKey,
    /// The movement that shortening makes there.
    pub movement: MovementKey,
    /// Moment arm in millimetres, positive; the mean of its lines of pull.
    pub arm_mm: f64,
    /// Its standard deviation in millimetres.
    pub sd_mm: f64,
    /// How sure the movement is.
    pub certainty: Certainty,
    /// Whether all its lines make this movement, and none the opposite.
    pub unanimous: bool,
}

impl Atlas {
    /// What a muscle and its parts do, the strongest first; of the postures in which a freedom is
    /// judged the one with the largest arm counts. Empty if the muscle has no line of pull.
    pub fn derived(&self, muscle: &MuscleKey) -> &[Derived] {
        self.kept.or_derive(&self.lines, muscle, || self.derive_all(muscle))
    }

    fn derive_all(&self, muscle: &MuscleKey) -> Vec<Derived> {
        let all: Vec<&Line> = self.lines(muscle).iter().collect();
        let mut parts: Vec<&PartKey> = all.iter().filter_map(|line| line.part.as_ref()).collect();
        parts.dedup();
        let mut derived: Vec<Derived> = Vec::new();
        for part in std::iter::once(None).chain(parts.into_iter().map(Some)) {
            let lines = self.lines_of(muscle, part);
            let found = self.freedoms.iter().filter_map(|f| self.derive(f, &lines, part));
            derived.extend(found);
        }
        derived.sort_by(|a, b| b.arm_mm.total_cmp(&a.arm_mm));
        derived
    }

    /// The lines of a part, or all of a muscle.
    pub(crate) fn lines_of(&self, muscle: &MuscleKey, part: Option<&PartKey>) -> Vec<&Line> {
        let of_part = |line: &&Line| part.is_none() || line.part.as_ref() == part;
        self.lines(muscle).iter().filter(of_part).collect()
    }

    /// Whether a line joins something that a freedom moves to something that stays. One between two
    /// bones that both move, as from the clavicle to the humerus where the girdle moves, does its
    /// work elsewhere.
    pub(crate) fn works_at(&self, freedom: &JointFreedom, line: &Line) -> bool {
        let moved = |stop: &Stop| self.linkage.moves(freedom.id, stop.point.segment);
        line.stops.iter().any(moved) && !line.stops.iter().all(moved)
    }

    /// The moment arm of several lines together: their mean, over those that work at the freedom.
    /// Errors are taken to go together, which never makes the mean surer than its lines.
    pub fn mean_arm(
        &self,
        freedom: &JointFreedom,
        posture: &Posture,
        lines: &[&Line],
    ) -> Option<Estimate> {
        let estimate =
            |line: &&Line| self.linkage.estimate(posture, freedom.id, &line.points_at(posture));
        let working = lines.iter().filter(|line| self.works_at(freedom, line));
        let found: Vec<Estimate> = working.filter_map(estimate).collect();
        let count = u32::try_from(found.len()).ok().filter(|count| *count > 0).map(f64::from)?;
        let arm_mm = found.iter().map(|one| one.arm_mm).sum::<f64>() / count;
        let variance = found.iter().map(|one| one.sd_mm.powi(2)).sum::<f64>() / count;
        Some(Estimate { arm_mm, sd_mm: variance.sqrt() })
    }

    /// The moment arm of each of these lines that works at the freedom, in millimetres.
    pub(crate) fn arms_mm<'a>(
        &self,
        freedom: &JointFreedom,
        posture: &Posture,
        lines: impl Iterator<Item = &'a Line>,
    ) -> Vec<(&'a Line, f64)> {
        let pose = self.linkage.pose(posture);
        let arm = |line: &'a Line| Some((line, pose.arm_mm(freedom.id, &line.points_at(posture))?));
        lines.filter(|line| self.works_at(freedom, line)).filter_map(arm).collect()
    }

    fn derive(
        &self,
        freedom: &JointFreedom,
        lines: &[&Line],
        part: Option<&PartKey>,
    ) -> Option<Derived> {
        let arms = freedom.judged_at.iter();
        let arms = arms.filter_map(|at| Some((at, self.mean_arm(freedom, at, lines)?)));
        let (at, best) = arms.max_by(|(_, a), (_, b)| a.arm_mm.abs().total_cmp(&b.arm_mm.abs()))?;
        let arms_mm = self.arms_mm(freedom, at, lines.iter().copied());
        Some(Derived {
            part: part.cloned(),
            freedom: freedom.key.clone(),
            joint: freedom.joint.clone(),
            movement: freedom.movement(best.arm_mm)?.clone(),
            arm_mm: best.arm_mm.abs(),
            sd_mm: best.sd_mm,
            certainty: best.certainty(),
            unanimous: arms_mm.iter().all(|(_, arm_mm)| arm_mm * best.arm_mm > 0.0),
        })
    }
}
