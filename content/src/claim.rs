//! What a sentence claims, held against any muscle.

use std::collections::BTreeSet;

use crate::model::{
    BoneKey, End, GroupKey, Innervation, JointKey, LandmarkKey, MovementKey, Muscle, MuscleKey,
    NerveKey, RegionKey, Role, Span,
};
use crate::place::{Held, Placed};
use crate::vocabulary::{Joint, Movement, Vocabulary};
use crate::words::place_phrase;

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

/// What a claim needs of the vocabulary, looked up once.
struct Claimed<'a> {
    /// The places of [`Claim::Places`].
    places: Vec<Held<'a>>,
    /// The nerve of [`Claim::Nerve`] and its branches.
    nerves: BTreeSet<&'a NerveKey>,
}

impl Claim {
    /// What it names, in words: `lateral rotation of the arm`, `lesser tubercle of the humerus`.
    pub(crate) fn about(&self, v: &Vocabulary) -> Vec<String> {
        let one = |name: Option<&String>| name.into_iter().cloned().collect();
        match self {
            Self::Region(key) => one(v.regions.get(key).map(|region| &region.name)),
            Self::Group(key) => one(v.groups.get(key).map(|group| &group.name)),
            Self::Joint(key) => one(v.joints.get(key).map(|joint| &joint.name)),
            Self::Action { joint, movement, .. } => {
                let named = v.movements.get(movement).zip(v.joints.get(joint));
                let words = |(movement, joint): (&Movement, &Joint)| {
                    format!("{} of the {}", movement.name, joint.segment)
                };
                named.map(words).into_iter().collect()
            }
            Self::Bone(_, key) => one(v.bones.get(key).map(|bone| &bone.name)),
            Self::Places(_, places) => {
                places.iter().map(|(landmark, _)| place_phrase(v, landmark)).collect()
            }
            Self::Nerve(key) => one(v.nerves.get(key).map(|nerve| &nerve.name)),
            Self::Roots(roots) => roots.iter().map(|root| format!("root {root}")).collect(),
            Self::Own(_) => Vec::new(),
        }
    }

    /// Those of `muscles` of whom it is true.
    pub(crate) fn fitting<'a>(&self, v: &Vocabulary, muscles: &[Placed<'a>]) -> Vec<&'a Muscle> {
        let places = if let Self::Places(_, places) = self { places.as_slice() } else { &[] };
        let places = places.iter().map(|(landmark, span)| Held::new(v, (landmark, span.as_ref())));
        let trunk = if let Self::Nerve(nerve) = self { Some(nerve) } else { None };
        let supplies = |nerve: &&NerveKey| {
            trunk.is_some_and(|trunk| v.with_trunks(nerve).any(|one| one == trunk))
        };
        let claimed = Claimed {
            places: places.collect(),
            nerves: v.nerves.keys().filter(supplies).collect(),
        };
        let fitting = muscles.iter().filter(|placed| self.holds(&claimed, placed));
        fitting.map(|placed| placed.muscle).collect()
    }

    fn holds(&self, claimed: &Claimed<'_>, placed: &Placed<'_>) -> bool {
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
            Self::Places(end, _) => claimed
                .places
                .iter()
                .all(|claim| placed.at(*end).iter().any(|held| claim.may_be(held))),
            Self::Nerve(_) => {
                muscle.innervation.iter().any(|supply| claimed.nerves.contains(&supply.nerve))
            }
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;
    use crate::check::check;
    use crate::problem::SourceFile;

    /// Which nerve is a branch of which: common practice, no source.
    #[test]
    fn what_a_branch_supplies_its_trunk_supplies() {
        let catalogue = Catalogue::bundled();
        let v = &catalogue.vocabulary;
        let placed: Vec<Placed<'_>> =
            catalogue.muscles().map(|muscle| Placed::new(v, muscle)).collect();
        let supplied = |nerve: &str, muscle: &str| {
            let fitting = Claim::Nerve(NerveKey::new(nerve)).fitting(v, &placed);
            fitting.iter().any(|one| one.key.as_str() == muscle)
        };
        assert!(supplied("radial", "brachioradialis"));
        assert!(supplied("radial", "extensor-digitorum"));
        assert!(!supplied("posterior-interosseous", "brachioradialis"));
        assert!(supplied("median", "flexor-pollicis-longus"));
        assert!(supplied("common-fibular", "fibularis-longus"));
        assert!(!supplied("ulnar", "pronator-teres"));
    }

    #[test]
    fn a_ring_of_branches_is_told() {
        let text = "[nerve]\na = { name = \"a\", branch_of = \"b\" }\nb = { name = \"b\", branch_of = \"a\" }\n\
                    c = { name = \"c\", branch_of = \"radail\" }\n";
        let file = SourceFile { path: "own.toml".to_owned(), text: text.to_owned() };
        let told: Vec<String> = check(&[file]).iter().map(ToString::to_string).collect();
        let told = told.join("\n");
        assert!(told.contains("own.toml:2:31: nerve `a` is a branch of itself"), "{told}");
        assert!(told.contains("unknown nerve `radail`; nearest: `radial`"), "{told}");
    }
}
