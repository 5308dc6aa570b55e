//! The words that facts are made of: bones, landmarks, joints, movements, nerves.

use std::collections::BTreeMap;

use crate::model::{
    BoneKey, GroupKey, JointKey, LandmarkKey, MovementKey, NerveKey, RegionKey, SourceKey, Span,
};

/// A bone or a row of like bones.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bone {
    /// English name with no article, such as `scapula`.
    pub name: String,
    /// Latin name.
    pub latin: String,
    /// Whether the name is a plural row, such as `ribs` (matters for grammar).
    pub plural: bool,
    /// First and last of a row of like bones, such as ribs 1-12; spans lie within it.
    pub row: Option<Span>,
}

/// A place where muscles attach.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Landmark {
    /// English name with no article and no bone, such as `lesser tubercle`. A finer landmark's
    /// name tells the larger one too: `floor of the intertubercular sulcus`.
    pub name: String,
    /// Other names of the very same place, such as `crest of the greater tubercle`.
    pub also: Vec<String>,
    /// Latin name, where the course uses one.
    pub latin: Option<String>,
    /// The bone that carries it; `None` for a soft structure such as the nuchal ligament.
    pub bone: Option<BoneKey>,
    /// The larger landmark that this one is part of, such as `greater-tubercle`.
    pub within: Option<LandmarkKey>,
    /// Whether the name is a plural.
    pub plural: bool,
    /// Whether the name already says the bone (`acromion`), so that `of the scapula` is left out.
    pub stands_alone: bool,
}

/// A joint, and the segment that moves when its muscles shorten.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Joint {
    /// English name, such as `shoulder joint`.
    pub name: String,
    /// What moves, such as `arm` or `scapula`.
    pub segment: String,
    /// Other words for the joint or for what moves, such as `shoulder blade`.
    pub also: Vec<String>,
    /// Movements that the joint has.
    pub movements: Vec<MovementKey>,
}

/// A movement and its opposite.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Movement {
    /// Noun, such as `lateral rotation`.
    pub name: String,
    /// Verb, third person, that takes the segment as object: `rotates {} laterally`.
    pub verb: String,
    /// Other words for it, such as `external rotation`; with ` of the ` and a joint or what moves,
    /// they hold only there: `radial deviation of the hand`.
    pub also: Vec<String>,
    /// The movement that undoes it; the movement itself where it is the same to the other side.
    pub opposite: MovementKey,
}

/// A nerve.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Nerve {
    /// English name with the word nerve where it has it, such as `axillary nerve`.
    pub name: String,
    /// Roots of the whole nerve, such as `C5`, `C6`; empty for cranial nerves.
    pub roots: Vec<String>,
    /// The nerve that this one is a branch of.
    pub branch_of: Option<NerveKey>,
}

/// A region, compartment, layer or group.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Named {
    /// English name, such as `rotator cuff`.
    pub name: String,
}

/// Where facts come from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// Full citation.
    pub citation: String,
    /// Licence of the facts as we took them.
    pub licence: String,
}

/// All words, by key.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Vocabulary {
    /// Bones.
    pub bones: BTreeMap<BoneKey, Bone>,
    /// Landmarks and soft structures.
    pub landmarks: BTreeMap<LandmarkKey, Landmark>,
    /// Joints.
    pub joints: BTreeMap<JointKey, Joint>,
    /// Movements.
    pub movements: BTreeMap<MovementKey, Movement>,
    /// Nerves.
    pub nerves: BTreeMap<NerveKey, Nerve>,
    /// Regions.
    pub regions: BTreeMap<RegionKey, Named>,
    /// Compartments, layers, groups.
    pub groups: BTreeMap<GroupKey, Named>,
    /// Sources.
    pub sources: BTreeMap<SourceKey, Source>,
}

impl Vocabulary {
    /// The landmark itself and every larger one that holds it, from small to large. Ends even
    /// where landmarks hold each other in a ring, which a loaded vocabulary never has.
    pub fn with_larger<'a>(
        &'a self,
        key: &'a LandmarkKey,
    ) -> impl Iterator<Item = (&'a LandmarkKey, &'a Landmark)> {
        std::iter::successors(self.landmarks.get_key_value(key), |(_, landmark)| {
            self.landmarks.get_key_value(landmark.within.as_ref()?)
        })
        .take(self.landmarks.len())
    }

    /// The nerve itself and every one that it is a branch of, from branch to trunk. Ends even where
    /// nerves branch off each other in a ring, which a loaded vocabulary never has.
    pub fn with_trunks<'a>(&'a self, key: &'a NerveKey) -> impl Iterator<Item = &'a NerveKey> {
        std::iter::successors(self.nerves.get_key_value(key), |(_, nerve)| {
            self.nerves.get_key_value(nerve.branch_of.as_ref()?)
        })
        .map(|(key, _)| key)
        .take(self.nerves.len())
    }

    /// The bone that carries a landmark, if it is on bone.
    pub fn bone_of<'a>(&'a self, key: &'a LandmarkKey) -> Option<&'a BoneKey> {
        self.with_larger(key).find_map(|(_, landmark)| landmark.bone.as_ref())
    }
}
