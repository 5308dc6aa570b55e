//! Which movements are right for a muscle.

use std::collections::BTreeSet;

use myonym_content::derived::{Certainty, LEAST_MM};
use myonym_content::{Course, JointKey, MovementKey, MuscleKey};
use myonym_wire::Verdict;

use crate::event::SaidMovement;

/// The movements that a muscle makes, as they are marked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Makes {
    /// Taught at some level, of any part, or derived and sure; the taught ones first.
    right: Vec<Made>,
    /// Derived and likely.
    near: Vec<Made>,
}

/// A movement, and where; `None` is at any joint.
type Made = (MovementKey, Option<JointKey>);

impl Makes {
    /// What a muscle makes: the actions of the data at every level, less those that only steady a
    /// joint; what the course says in its own words; and what the atlas makes of its lines of pull,
    /// with an arm of [`LEAST_MM`] or more.
    pub fn of(course: &Course, muscle: &MuscleKey) -> Self {
        let taught =
            course.taught_movements(muscle).into_iter().chain(course.all_movements(muscle));
        let taught = taught.map(|action| (action.movement, Some(action.joint)));
        let own = course.own_movements(muscle).into_iter().flat_map(|own| {
            let joints: Vec<Option<JointKey>> = own.joints.into_iter().map(Some).collect();
            let joints = if joints.is_empty() { vec![None] } else { joints };
            joints.into_iter().map(move |joint| (own.movement.clone(), joint))
        });
        let derived = |certainty| {
            let derived = course.derived(muscle).iter();
            let such = derived.filter(move |it| it.certainty == certainty && it.arm_mm >= LEAST_MM);
            such.map(|it| (it.movement.clone(), Some(it.joint.clone())))
        };
        Self {
            right: each_once(own.chain(taught).chain(derived(Certainty::Sure))),
            near: each_once(derived(Certainty::Likely)),
        }
    }

    /// How a movement is marked. Named without a joint, it is at any.
    pub fn verdict(&self, said: &SaidMovement) -> Verdict {
        let fits = |(movement, joint): &Made| {
            let there = |joint: &JointKey| said.joints.is_empty() || said.joints.contains(joint);
            *movement == said.movement && joint.as_ref().is_none_or(there)
        };
        if self.right.iter().any(fits) {
            Verdict::Right
        } else if self.near.iter().any(fits) {
            Verdict::Near
        } else {
            Verdict::Wrong
        }
    }

    /// Those that are right in words, the taught ones first.
    pub fn names(&self, course: &Course) -> Vec<String> {
        let named = self.right.iter();
        named.map(|(movement, joint)| course.name_movement(movement, joint.as_ref())).collect()
    }

    /// Whether it is a movement that the muscle makes anywhere, surely or not.
    fn makes(&self, movement: &MovementKey) -> bool {
        self.right.iter().chain(&self.near).any(|(made, _)| made == movement)
    }
}

/// A movement in the form in which one is asked for, that the muscle makes at no joint: what another
/// muscle of the list does, a different one with each `turn`. `None` if there is none.
pub fn example(course: &Course, muscle: &MuscleKey, turn: u16) -> Option<String> {
    let makes = Makes::of(course, muscle);
    let others = course.items().iter().flat_map(|item| course.taught_movements(&item.muscle));
    let others = others.filter(|action| !makes.makes(&action.movement));
    let others: BTreeSet<_> = others.map(|action| (action.movement, action.joint)).collect();
    // A prime step, so that one turn does not tell of the next.
    let at = (usize::from(turn) * 7919).checked_rem(others.len())?;
    let (movement, joint) = others.into_iter().nth(at)?;
    Some(course.name_movement(&movement, Some(&joint)))
}

fn each_once(made: impl Iterator<Item = Made>) -> Vec<Made> {
    let mut seen = BTreeSet::new();
    made.filter(|one| seen.insert(one.clone())).collect()
}
