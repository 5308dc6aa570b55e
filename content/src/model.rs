//! What a muscle is, as data: names, attachments, actions, innervation.
//!
//! Everything here is already checked: a key names an entry of the
//! [`Vocabulary`](crate::vocabulary::Vocabulary), so no reader has to look again.

use std::fmt;

use serde::{Deserialize, Serialize};

macro_rules! keys {
    ($($(#[$doc:meta])* $name:ident;)+) => {$(
        $(#[$doc])*
        #[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, schemars::JsonSchema)]
        #[serde(transparent)]
        pub struct $name(String);

        impl $name {
            /// Wraps a key that the loader has looked up, or that a log holds.
            pub fn new(key: impl Into<String>) -> Self {
                Self(key.into())
            }

            /// The key as written in the data files, such as `teres-minor`.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.0)
            }
        }

        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "{}", self.0)
            }
        }
    )+};
}

keys! {
    /// A muscle, such as `teres-minor`.
    MuscleKey;
    /// A part or head of one muscle, such as `clavicular-head`; unique within its muscle.
    PartKey;
    /// A bone, or a row of like bones, such as `scapula` or `ribs`.
    BoneKey;
    /// A place on a bone (or a soft structure) where muscles attach, such as `lesser-tubercle`.
    LandmarkKey;
    /// A joint, such as `glenohumeral`.
    JointKey;
    /// A movement, such as `lateral-rotation`; what it does depends on the joint.
    MovementKey;
    /// A nerve, such as `axillary`.
    NerveKey;
    /// A region of the body, such as `shoulder-and-humerus`.
    RegionKey;
    /// A compartment, layer or named group, such as `rotator-cuff`.
    GroupKey;
    /// A source of facts, such as `openstax-ap2e`.
    SourceKey;
    /// A muscle list (a course's scope), such as `shoulder`.
    ListKey;
    /// A segment of the atlas: what moves as one, such as `humerus`.
    SegmentKey;
    /// A freedom of a joint: one axis about which it turns, such as `glenohumeral-rotation`.
    FreedomKey;
}

/// How much of a fact a course teaches. A full course also teaches the introductory facts.
#[derive(
    Debug,
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Default,
    Serialize,
    Deserialize,
    schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Level {
    /// A one-semester course: main actions, bones and chief landmarks.
    #[default]
    Introductory,
    /// A two-semester course: finer landmarks, nerve roots, lesser actions.
    Full,
}

/// The part that a muscle plays in a movement.
#[derive(
    Debug,
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Default,
    Serialize,
    Deserialize,
    schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// Does most of the work.
    #[default]
    PrimeMover,
    /// Helps a prime mover.
    Assists,
    /// Holds the joint steady while others move it.
    Stabilises,
}

/// A run of ribs, vertebrae, digits or roots, such as ribs 3-5 or T2-T5.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Span {
    /// First of the run, such as `3` or `T2`.
    pub from: String,
    /// Last of the run; equal to `from` for a single one.
    pub to: String,
}

impl fmt::Display for Span {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.from == self.to {
            f.write_str(&self.from)
        } else {
            write!(f, "{}-{}", self.from, self.to)
        }
    }
}

/// Where one end of a muscle is fixed. One muscle has several at an end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Attachment {
    /// The place.
    pub landmark: LandmarkKey,
    /// Which of a row of bones, where the landmark is one of a row.
    pub span: Option<Span>,
    /// How much of the landmark, in words that stand before its name, such as `lateral third of`.
    pub portion: Option<String>,
    /// The part of the muscle that attaches here; `None` for the whole muscle.
    pub part: Option<PartKey>,
    /// Which courses teach it.
    pub level: Level,
    /// Who says so.
    pub sources: Vec<SourceKey>,
    /// The same attachment as other sources have it. Never counted against a student.
    pub variants: Vec<AttachmentVariant>,
}

/// An attachment as another source has it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AttachmentVariant {
    /// The place (the same as the main form where only the span differs).
    pub landmark: LandmarkKey,
    /// Which of a row of bones.
    pub span: Option<Span>,
    /// Who says so.
    pub sources: Vec<SourceKey>,
}

/// What a muscle does when its insertion moves towards its origin.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Action {
    /// Where the movement takes place.
    pub joint: JointKey,
    /// The movement.
    pub movement: MovementKey,
    /// The part that the muscle plays in it.
    pub role: Role,
    /// The part of the muscle that does it; `None` for the whole muscle.
    pub part: Option<PartKey>,
    /// A condition in words that follow the movement, such as `from the flexed position`.
    pub condition: Option<String>,
    /// Which courses teach it.
    pub level: Level,
    /// Who says so.
    pub sources: Vec<SourceKey>,
}

/// The nerve that supplies a muscle or a part of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Innervation {
    /// The nerve.
    pub nerve: NerveKey,
    /// Spinal roots that reach this muscle, such as `C5`, `C6`; empty for cranial nerves.
    pub roots: Vec<String>,
    /// The part supplied; `None` for the whole muscle.
    pub part: Option<PartKey>,
    /// Which courses teach it.
    pub level: Level,
    /// Who says so.
    pub sources: Vec<SourceKey>,
    /// Roots as other sources have them.
    pub variants: Vec<RootsVariant>,
}

/// The roots of a nerve as another source has them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RootsVariant {
    /// Spinal roots.
    pub roots: Vec<String>,
    /// Who says so.
    pub sources: Vec<SourceKey>,
}

/// A part or head that the course names, such as the clavicular head of pectoralis major.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// Key within the muscle.
    pub key: PartKey,
    /// English name without the muscle's, such as `clavicular head`.
    pub name: String,
    /// Other forms that name this part in full, such as `upper trapezius`.
    pub accepted: Vec<String>,
}

/// A skeletal muscle with its facts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Muscle {
    /// Key, such as `teres-minor`.
    pub key: MuscleKey,
    /// English name, such as `teres minor`.
    pub name: String,
    /// Latin name in full, such as `musculus teres minor`.
    pub latin: String,
    /// Other names in use.
    pub synonyms: Vec<String>,
    /// Short forms in use, such as `lats`.
    pub abbreviations: Vec<String>,
    /// Region of the body.
    pub region: RegionKey,
    /// Compartments, layers and named groups that it belongs to.
    pub groups: Vec<GroupKey>,
    /// Parts or heads, in the order taught.
    pub parts: Vec<Part>,
    /// The ends that stay put.
    pub origins: Vec<Attachment>,
    /// The ends that move.
    pub insertions: Vec<Attachment>,
    /// What it does.
    pub actions: Vec<Action>,
    /// What supplies it.
    pub innervation: Vec<Innervation>,
}

/// The end of a muscle that an attachment belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum End {
    /// The end that stays put.
    Origin,
    /// The end that moves.
    Insertion,
}

impl Muscle {
    /// The attachments at one end.
    pub fn attachments(&self, end: End) -> &[Attachment] {
        match end {
            End::Origin => &self.origins,
            End::Insertion => &self.insertions,
        }
    }

    /// The part with this key.
    pub fn part(&self, key: &PartKey) -> Option<&Part> {
        self.parts.iter().find(|part| part.key == *key)
    }
}
