//! Comparing places of attachment: which lies within which, and what every source allows.

use crate::model::{Attachment, BoneKey, End, LandmarkKey, Muscle, Span};
use crate::vocabulary::Vocabulary;

/// A landmark, and which of its row.
pub(crate) type Place<'a> = (&'a LandmarkKey, Option<&'a Span>);

/// Attachments less those that a finer one of the same part lies within.
pub(crate) fn finest<'a>(
    v: &'a Vocabulary,
    attachments: &'a [Attachment],
) -> impl Iterator<Item = &'a Attachment> {
    attachments.iter().filter(move |coarse| {
        let mut others = attachments.iter().filter(|other| other.part == coarse.part);
        !others.any(|fine| {
            fine.landmark != coarse.landmark && lies_within(v, &fine.landmark, &coarse.landmark)
        })
    })
}

/// The place of an attachment as each source has it.
pub(crate) fn forms(attachment: &Attachment) -> impl Iterator<Item = Place<'_>> {
    let main = (&attachment.landmark, attachment.span.as_ref());
    let variants = attachment.variants.iter();
    std::iter::once(main).chain(variants.map(|other| (&other.landmark, other.span.as_ref())))
}

/// A muscle with every place where any source fixes it looked up once, as claims are held against
/// each muscle of a list many times.
#[derive(Debug)]
pub(crate) struct Placed<'a> {
    pub(crate) muscle: &'a Muscle,
    origins: Vec<Held<'a>>,
    insertions: Vec<Held<'a>>,
}

/// A landmark and the larger ones that hold it, from small to large; which of its row; its bone.
#[derive(Debug)]
pub(crate) struct Held<'a> {
    landmarks: Vec<&'a LandmarkKey>,
    span: Option<&'a Span>,
    pub(crate) bone: Option<&'a BoneKey>,
}

impl<'a> Placed<'a> {
    pub(crate) fn new(v: &'a Vocabulary, muscle: &'a Muscle) -> Self {
        let held = |attachments: &'a [Attachment]| {
            finest(v, attachments).flat_map(forms).map(|place| Held::new(v, place)).collect()
        };
        Self { muscle, origins: held(&muscle.origins), insertions: held(&muscle.insertions) }
    }

    pub(crate) fn at(&self, end: End) -> &[Held<'a>] {
        match end {
            End::Origin => &self.origins,
            End::Insertion => &self.insertions,
        }
    }
}

impl<'a> Held<'a> {
    pub(crate) fn new(v: &'a Vocabulary, (landmark, span): Place<'a>) -> Self {
        let landmarks = v.with_larger(landmark).map(|(key, _)| key).collect();
        Self { landmarks, span, bone: v.bone_of(landmark) }
    }

    /// The landmark and the larger ones that hold it, from small to large.
    pub(crate) fn landmarks(&self) -> &[&'a LandmarkKey] {
        &self.landmarks
    }

    /// Whether it is a landmark or part of it.
    pub(crate) fn lies_within(&self, large: &LandmarkKey) -> bool {
        self.landmarks.contains(&large)
    }

    /// Whether two names may mean one place: one lies within the other, and their runs overlap.
    pub(crate) fn may_be(&self, other: &Self) -> bool {
        let within = |small: &Self, large: &Self| {
            large.landmarks.first().is_some_and(|large| small.landmarks.contains(large))
        };
        (within(self, other) || within(other, self)) && overlap(self.span, other.span)
    }
}

/// Whether a landmark is another or part of it.
fn lies_within(v: &Vocabulary, small: &LandmarkKey, large: &LandmarkKey) -> bool {
    small == large || v.with_larger(small).any(|(key, _)| key == large)
}

/// Whether two runs share a bone; an unknown run may be any.
fn overlap(a: Option<&Span>, b: Option<&Span>) -> bool {
    match (a.and_then(Span::bounds), b.and_then(Span::bounds)) {
        (Some((a_first, a_last)), Some((b_first, b_last))) => {
            a_first <= b_last && b_first <= a_last
        }
        _ => true,
    }
}
