//! Comparing places of attachment: which lies within which, and what every source allows.

use crate::model::{Attachment, End, LandmarkKey, Muscle, Span};
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

/// Every place where any source fixes this end of a muscle.
pub(crate) fn places<'a>(
    v: &'a Vocabulary,
    muscle: &'a Muscle,
    end: End,
) -> impl Iterator<Item = Place<'a>> {
    finest(v, muscle.attachments(end)).flat_map(forms)
}

/// Whether two names may mean one place: one lies within the other, and their runs overlap.
pub(crate) fn compatible(v: &Vocabulary, a: Place<'_>, b: Place<'_>) -> bool {
    (lies_within(v, a.0, b.0) || lies_within(v, b.0, a.0)) && overlap(a.1, b.1)
}

/// Whether a landmark is another or part of it.
pub(crate) fn lies_within(v: &Vocabulary, small: &LandmarkKey, large: &LandmarkKey) -> bool {
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
