//! What a sentence claims, held against any muscle.

use std::collections::BTreeSet;

use crate::model::{
    BoneKey, End, GroupKey, Innervation, JointKey, LandmarkKey, MovementKey, Muscle, MuscleKey,
    NerveKey, RegionKey, Role, Span,
};
use crate::place::{Held, Placed};
use crate::vocabulary::Vocabulary;

/// What a sentence claims, in keys, so that it can be held against any muscle.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Claim {
    Region(RegionKey),
    Group(GroupKey),
    Joint(JointKey),
    Action {
        joint: JointKey,
        movement: MovementKey,
        steadies: bool,
    },
    Bone(End, BoneKey),
    Places(End, Vec<(LandmarkKey, Option<Span>)>),
    Nerve(NerveKey),
    Roots(BTreeSet<String>),
    /// The course's own wording, which is said of this muscle alone.
    Own(MuscleKey),
}

impl Claim {
    /// Those of `muscles` of whom it is true.
    pub(crate) fn fitting<'a>(&self, v: &Vocabulary, muscles: &[Placed<'a>]) -> Vec<&'a Muscle> {
        let claimed = if let Self::Places(_, places) = self { places.as_slice() } else { &[] };
        let claimed =
            claimed.iter().map(|(landmark, span)| Held::new(v, (landmark, span.as_ref())));
        let claimed: Vec<Held<'_>> = claimed.collect();
        let fitting = muscles.iter().filter(|placed| self.holds(&claimed, placed));
        fitting.map(|placed| placed.muscle).collect()
    }

    /// `claimed`: the places of [`Claim::Places`], looked up.
    fn holds(&self, claimed: &[Held<'_>], placed: &Placed<'_>) -> bool {
        let muscle = placed.muscle;
        match self {
            Self::Own(own) => muscle.key == *own,
            Self::Region(region) => muscle.region == *region,
            Self::Group(group) => muscle.groups.contains(group),
            Self::Joint(joint) => muscle.actions.iter().any(|action| action.joint == *joint),
            Self::Action { joint, movement, steadies } => muscle.actions.iter().any(|action| {
                let steadies_it = action.role == Role::Stabilises;
                action.joint == *joint && action.movement == *movement && steadies_it == *steadies
            }),
            Self::Bone(end, bone) => placed.at(*end).iter().any(|held| held.bone == Some(bone)),
            Self::Places(end, _) => {
                claimed.iter().all(|claim| placed.at(*end).iter().any(|held| claim.may_be(held)))
            }
            Self::Nerve(nerve) => muscle.innervation.iter().any(|supply| supply.nerve == *nerve),
            Self::Roots(claimed) => muscle.innervation.iter().flat_map(roots).any(|roots| {
                let roots: BTreeSet<String> = roots.iter().cloned().collect();
                roots.is_subset(claimed) || claimed.is_subset(&roots)
            }),
        }
    }
}

fn roots(supply: &Innervation) -> impl Iterator<Item = &[String]> {
    let variants = supply.variants.iter().map(|variant| variant.roots.as_slice());
    std::iter::once(supply.roots.as_slice()).filter(|roots| !roots.is_empty()).chain(variants)
}
