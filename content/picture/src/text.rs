//! A picture in words.

use myonym_content::Atlas;
use myonym_content::atlas::{Line, Stop, StopKind};
use myonym_content::derived::Derived;
use myonym_content::explain::passes_where;
use myonym_content::model::{Attachment, End, LandmarkKey, Muscle};
use myonym_content::vocabulary::Vocabulary;
use myonym_content::words::{attachment_phrase, listed, movement_phrase, the_attachment};
use myonym_wire::View;

use crate::turning::Turning;

/// Whether a picture has names in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Labels {
    /// The muscle, its attachments and the movement are named.
    Shown,
    /// None is, so that the picture can be asked about. The words for those who do not see it name
    /// the attachments, but nothing that gives the muscle's name away.
    Hidden,
}

/// The end of a line.
pub(crate) fn stop(line: &Line, end: End) -> Option<&Stop> {
    match end {
        End::Origin => line.stops.first(),
        End::Insertion => line.stops.last(),
    }
}

/// The landmark at the end of a line.
fn landmark(line: &Line, end: End) -> Option<&LandmarkKey> {
    match &stop(line, end)?.kind {
        StopKind::Attachment(landmark) => Some(landmark),
        StopKind::Via(_) => None,
    }
}

/// The muscle's attachment that the end of a line stands for: of the same part and at the same
/// landmark, if there is one.
fn attachment<'a>(
    v: &Vocabulary,
    muscle: &'a Muscle,
    line: &Line,
    end: End,
) -> Option<&'a Attachment> {
    let landmark = landmark(line, end)?;
    let within = |small: &LandmarkKey, large: &LandmarkKey| {
        v.with_larger(small).any(|(key, _)| key == large)
    };
    let rank = |one: &Attachment| {
        let near = within(landmark, &one.landmark) || within(&one.landmark, landmark);
        let rank = (one.landmark != *landmark, one.part != line.part);
        near.then_some(rank)
    };
    let found = muscle.attachments(end).iter().filter_map(|one| Some((rank(one)?, one)));
    found.min_by_key(|(rank, _)| *rank).map(|(_, one)| one)
}

/// What the label of an attachment says: `greater tubercle of the humerus`; `None` where a line
/// ends at no landmark.
pub(crate) fn label(v: &Vocabulary, muscle: &Muscle, line: &Line, end: End) -> Option<String> {
    let landmark = landmark(line, end)?;
    let attachment = attachment(v, muscle, line, end);
    let phrase = attachment.map(|attachment| attachment_phrase(v, attachment));
    Some(phrase.unwrap_or_else(|| landmark.as_str().replace('-', " ")))
}

/// `from behind`.
pub(crate) fn from_where(view: View) -> &'static str {
    match view {
        View::Front => "from the front",
        View::Back => "from behind",
        View::Side => "from the right side",
        View::Above => "from above",
    }
}

/// The whole picture in words. The first sentence is a heading.
pub(crate) fn text(
    atlas: &Atlas,
    v: &Vocabulary,
    muscle: &Muscle,
    view: View,
    turning: Option<&Turning>,
    labels: Labels,
) -> String {
    let name = match labels {
        Labels::Shown => capital(&muscle.name),
        Labels::Hidden => "A muscle".to_owned(),
    };
    let allowed = |said: &String| labels == Labels::Shown || !gives_away(muscle, said);
    let [origins, insertions] = [End::Origin, End::Insertion]
        .map(|end| listed(&places(v, muscle, atlas.lines(&muscle.key), end, &allowed)));
    let does = turning.and_then(|turning| does(atlas, v, muscle, turning)).filter(allowed);
    let does = does.map(|does| format!("; {does}")).unwrap_or_default();
    format!("{name}, {}. It runs from {origins} to {insertions}{does}.", from_where(view))
}

/// What the label of the arrow says: `elevation`, or with the part that does it: `elevation (upper
/// part)`.
pub(crate) fn movement(v: &Vocabulary, muscle: &Muscle, derived: &Derived) -> String {
    let movement = v.movements.get(&derived.movement);
    let name = movement.map_or_else(String::new, |movement| movement.name.clone());
    match part(muscle, derived) {
        Some(part) => format!("{name} ({part})"),
        None => name,
    }
}

fn part<'a>(muscle: &'a Muscle, derived: &Derived) -> Option<&'a str> {
    let part = derived.part.as_ref().and_then(|key| muscle.part(key));
    part.map(|part| part.name.as_str())
}

/// `it passes behind the long axis of the shoulder joint, so shortening rotates the arm laterally`.
fn does(atlas: &Atlas, v: &Vocabulary, muscle: &Muscle, turning: &Turning) -> Option<String> {
    let derived = &turning.derived;
    let does = movement_phrase(v, &derived.joint, &derived.movement);
    let (subject, passes) = match part(muscle, derived) {
        Some(part) if part.ends_with('s') => (format!("its {part}"), "pass"),
        Some(part) => (format!("its {part}"), "passes"),
        None => ("it".to_owned(), "passes"),
    };
    let side = turning.is_sure().then(|| passes_where(atlas, muscle, derived))?;
    Some(match side {
        Some(side) => format!("{subject} {passes} {side}, so shortening {does}"),
        None => format!("shortening {does}"),
    })
}

/// The places at one end, each once, as finely as it is allowed.
fn places(
    v: &Vocabulary,
    muscle: &Muscle,
    lines: &[Line],
    end: End,
    allowed: &dyn Fn(&String) -> bool,
) -> Vec<String> {
    let mut places: Vec<String> = Vec::new();
    for line in lines {
        let exact = attachment(v, muscle, line, end).map(|one| the_attachment(v, one));
        let bone = landmark(line, end).and_then(|landmark| v.bone_of(landmark));
        let coarse =
            bone.and_then(|bone| v.bones.get(bone)).map(|bone| format!("the {}", bone.name));
        let place = [exact, coarse].into_iter().flatten().find(allowed);
        let place = place.unwrap_or_else(|| "a soft structure".to_owned());
        if !places.contains(&place) {
            places.push(place);
        }
    }
    places
}

/// Whether a phrase has a word of the muscle's name in it.
fn gives_away(muscle: &Muscle, phrase: &str) -> bool {
    let words = |text: &str| -> Vec<String> {
        let letters = |c: char| !c.is_alphanumeric();
        text.split(letters).filter(|word| !word.is_empty()).map(str::to_lowercase).collect()
    };
    let of_name = words(&muscle.name);
    words(phrase).iter().any(|word| of_name.contains(word) && !SMALL.contains(&word.as_str()))
}

/// Words that every name may have.
const SMALL: [&str; 4] = ["of", "the", "to", "and"];

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::small::{BEFORE, BEHIND, atlas, muscle, vocabulary};
    use crate::turning::turnings;

    fn text_of(key: &str, movement: &str, labels: Labels) -> String {
        let atlas = atlas(&[BEFORE, BEHIND, ("ridge-muscle", BEFORE.1, BEFORE.2)]);
        let muscle = muscle(key, movement);
        let turning = turnings(&atlas, &muscle.key).into_iter().next();
        text(&atlas, &vocabulary(), &muscle, View::Side, turning.as_ref(), labels)
    }

    #[test]
    fn with_names() {
        assert_eq!(
            text_of("bender", "flexion", Labels::Shown),
            "Bender, from the right side. It runs from the ridge of the upper bone to the knob of \
             the lower bone; it passes in front of the side-to-side axis of the hinge joint, so \
             shortening flexes the lower limb."
        );
    }

    #[test]
    fn without_names() {
        assert_eq!(
            text_of("stretcher", "extension", Labels::Hidden),
            "A muscle, from the right side. It runs from the ridge of the upper bone to the knob \
             of the lower bone; it passes behind the side-to-side axis of the hinge joint, so \
             shortening extends the lower limb."
        );
    }

    #[test]
    fn a_landmark_that_gives_the_name_away_is_told_as_its_bone() {
        let text = text_of("ridge-muscle", "flexion", Labels::Hidden);
        assert!(text.contains("from the upper bone to the knob of the lower bone"), "{text}");
    }
}
