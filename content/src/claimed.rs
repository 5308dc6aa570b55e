//! A claimed action held against the atlas.

use myonym_mechanics::{Certainty, Estimate, Posture};

use crate::atlas::{Atlas, JointFreedom, Line};
use crate::derived::LEAST_MM;
use crate::model::{Action, MuscleKey, Role};

/// What the atlas says to a claimed action.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Ruling<'a> {
    /// It has nothing to judge by: no line of pull, no such axis, a condition that is not known, or
    /// a muscle that only steadies.
    Silent,
    /// It has lines of pull, and none crosses the joint.
    NotCrossed,
    /// The lines make this movement, by [`LEAST_MM`] or more.
    BorneOut(Support<'a>),
    /// They do not, or hardly. The arm is positive in the claimed direction.
    Unsupported(Estimate),
}

/// The line of pull that bears a claim out best, and in which posture.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Support<'a> {
    pub(crate) line: &'a Line,
    pub(crate) freedom: &'a JointFreedom,
    pub(crate) posture: Posture,
    /// Positive in the claimed direction.
    pub(crate) arm: Estimate,
}

impl Atlas {
    /// Holds a claimed action against the lines of the part that it names, or of the whole muscle.
    ///
    /// A claim is true where one line bears it out in one of the postures in which it is judged: a
    /// muscle does what any part of it does. Where none does, the mean of all lines is told.
    pub(crate) fn ruling(&self, muscle: &MuscleKey, action: &Action) -> Ruling<'_> {
        let (Some(freedom), Some(postures)) =
            (self.freedom(&action.joint, &action.movement), self.postures(action))
        else {
            return Ruling::Silent;
        };
        let lines = self.lines_of(muscle, action.part.as_ref());
        if lines.is_empty() || action.role == Role::Stabilises {
            return Ruling::Silent;
        }
        let sign = freedom.sign(&action.movement).unwrap_or(1.0);
        let towards = |arm: Estimate| Estimate { arm_mm: arm.arm_mm * sign, sd_mm: arm.sd_mm };
        let mut supports = Vec::new();
        for posture in &postures {
            for line in lines.iter().filter(|line| self.works_at(freedom, line)) {
                let arm = self.linkage.estimate(posture, freedom.id, &line.points_at(posture));
                supports.extend(arm.map(|arm| {
                    let (arm, posture) = (towards(arm), posture.clone());
                    Support { line, freedom, posture, arm }
                }));
            }
        }
        let by_arm = |a: &Support<'_>, b: &Support<'_>| a.arm.arm_mm.total_cmp(&b.arm.arm_mm);
        match supports.into_iter().max_by(by_arm) {
            None => Ruling::NotCrossed,
            Some(best) if best.arm.arm_mm >= LEAST_MM => Ruling::BorneOut(best),
            Some(best) => {
                let means = postures.iter().filter_map(|at| self.mean_arm(freedom, at, &lines));
                let mean = means.map(towards).max_by(|a, b| a.arm_mm.total_cmp(&b.arm_mm));
                Ruling::Unsupported(mean.unwrap_or(best.arm))
            }
        }
    }

    /// The postures in which an action is judged; `None` for a condition that is not known.
    fn postures(&self, action: &Action) -> Option<Vec<Posture>> {
        let Some(words) = &action.condition else {
            return Some(self.freedom(&action.joint, &action.movement)?.judged_at.clone());
        };
        let known = |condition: &&crate::atlas::Condition| {
            condition.joint == action.joint && condition.words == *words
        };
        Some(vec![self.conditions.iter().find(known)?.posture.clone()])
    }
}

/// How far an unsupported claim goes against the atlas.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Opposition {
    /// Too little to speak of.
    None,
    /// The lines turn the other way by 5 to 10 mm, or by more with no certainty.
    Some,
    /// They turn the other way by 10 mm or more.
    Plain,
}

/// Judges an arm that is positive in the claimed direction.
pub(crate) fn opposition(arm: Estimate) -> Opposition {
    let against = -arm.arm_mm;
    if against < LEAST_MM {
        Opposition::None
    } else if against >= 2.0 * LEAST_MM && arm.certainty() > Certainty::CannotSay {
        Opposition::Plain
    } else {
        Opposition::Some
    }
}
