//! Facts in plain textbook English, computed from their keys.

use std::fmt::Display;

use crate::model::{
    Action, Attachment, BoneKey, End, Innervation, JointKey, LandmarkKey, MovementKey, Muscle,
    PartKey, Role, Span,
};
use crate::vocabulary::{Bone, Landmark, Vocabulary};

/// An attachment's place without an article: `lateral third of the clavicle`, `ribs 3-5`,
/// `spinous processes of T2-T5`.
pub fn attachment_phrase(v: &Vocabulary, attachment: &Attachment) -> String {
    let Place { text, row } = place(v, &attachment.landmark, attachment.span.as_ref());
    match attachment.portion.as_deref() {
        Some(portion) if !row && portion.ends_with(" of") => format!("{portion} the {text}"),
        Some(portion) => format!("{portion} {text}"),
        None => text,
    }
}

/// An attachment's place as it stands in a sentence: `the lesser tubercle of the humerus`, but
/// `ribs 3-5`.
pub fn the_attachment(v: &Vocabulary, attachment: &Attachment) -> String {
    let row = place(v, &attachment.landmark, attachment.span.as_ref()).row;
    let phrase = attachment_phrase(v, attachment);
    if row && attachment.portion.is_none() { phrase } else { format!("the {phrase}") }
}

/// All places at one end as they stand in a sentence, each once, with the parts that attach there:
/// `the acromion (middle part)`.
pub(crate) fn the_attachments(v: &Vocabulary, muscle: &Muscle, end: End) -> Vec<String> {
    let mut places: Vec<(String, Vec<String>)> = Vec::new();
    for attachment in muscle.attachments(end) {
        let place = the_attachment(v, attachment);
        let part = attachment.part.as_ref().map(|part| part_name(muscle, part));
        match places.iter_mut().find(|(known, _)| *known == place) {
            Some((_, parts)) => parts.extend(part),
            None => places.push((place, part.into_iter().collect())),
        }
    }
    let with_parts = |(place, parts): (String, Vec<String>)| match parts.as_slice() {
        [] => place,
        parts => format!("{place} ({})", listed(parts)),
    };
    places.into_iter().map(with_parts).collect()
}

/// A landmark's name with its bone: `greater tubercle of the humerus`.
pub(crate) fn place_phrase(v: &Vocabulary, landmark: &LandmarkKey) -> String {
    place(v, landmark, None).text
}

/// A bone as it stands in a sentence: `the scapula`, `the ribs`, or `a single rib` if all that
/// attaches to it is one of the row.
pub(crate) fn a_bone(v: &Vocabulary, key: &BoneKey, attachments: &[&Attachment]) -> String {
    let Some(bone) = v.bones.get(key) else { return format!("the {}", spaced(key)) };
    let one = |attachment: &&Attachment| match &attachment.span {
        Some(span) => is_single(span),
        None => v.landmarks.get(&attachment.landmark).is_some_and(|landmark| !landmark.plural),
    };
    if bone.plural && attachments.iter().all(one) {
        format!("a single {}", singular(&bone.name))
    } else {
        format!("the {}", bone.name)
    }
}

/// Whether a landmark is all of its bone, such as the clavicle.
pub(crate) fn is_whole_bone(v: &Vocabulary, key: &LandmarkKey) -> bool {
    let bone = v.bone_of(key).and_then(|bone| v.bones.get(bone));
    let landmark = v.landmarks.get(key);
    landmark.zip(bone).is_some_and(|(landmark, bone)| landmark.name == bone.name)
}

/// What a muscle does, as a predicate: `rotates the arm laterally`, `helps to abduct the arm`; or
/// with its own subject for a part: `its clavicular head flexes the arm`.
pub fn action_phrase(v: &Vocabulary, muscle: &Muscle, action: &Action) -> String {
    let (subject, many) = subject(muscle, action.part.as_ref());
    let predicate = predicate(v, action, &format!("the {}", segment(v, action)), many);
    subject.map_or_else(|| predicate.clone(), |subject| format!("{subject} {predicate}"))
}

/// What a muscle does, in one breath: `extends the arm and rotates it medially`, with a clause for
/// each part that acts for itself: `abducts the arm; its anterior part flexes the arm`.
pub(crate) fn actions_phrase(v: &Vocabulary, muscle: &Muscle, actions: &[&Action]) -> String {
    let clause = |actions: &[&Action]| {
        let (subject, many) = subject(muscle, actions.first().and_then(|one| one.part.as_ref()));
        let mut before = None;
        let say = |action: &&Action| {
            let segment = segment(v, action);
            let steadies = action.role == Role::Stabilises;
            let is_one = !segment.ends_with('s') && !segment.contains(' ');
            let again = is_one && !steadies && before.as_ref() == Some(&segment);
            let object = if again { "it".to_owned() } else { format!("the {segment}") };
            before = (!steadies).then_some(segment);
            predicate(v, action, &object, many)
        };
        let said = listed(&actions.iter().map(say).collect::<Vec<_>>());
        subject.map_or_else(|| said.clone(), |subject| format!("{subject} {said}"))
    };
    actions.chunk_by(|a, b| a.part == b.part).map(clause).collect::<Vec<_>>().join("; ")
}

/// A movement of a joint as a predicate: `rotates the arm laterally`.
pub fn movement_phrase(v: &Vocabulary, joint: &JointKey, movement: &MovementKey) -> String {
    let segment = v.joints.get(joint).map_or_else(|| spaced(joint), |joint| joint.segment.clone());
    let verb = v.movements.get(movement).map_or("moves {}", |movement| &movement.verb);
    verb.replace("{}", &format!("the {segment}"))
}

/// What moves: `arm`.
fn segment(v: &Vocabulary, action: &Action) -> String {
    v.joints.get(&action.joint).map_or_else(|| spaced(&action.joint), |joint| joint.segment.clone())
}

/// What is done to `object`, by many or by one.
fn predicate(v: &Vocabulary, action: &Action, object: &str, many: bool) -> String {
    let verb = v.movements.get(&action.movement).map_or("moves {}", |movement| &movement.verb);
    let verb = verb.replace("{}", object);
    let agree = |verb: &str| if many { plain_form(verb) } else { verb.to_owned() };
    let said = match action.role {
        Role::PrimeMover => agree(&verb),
        Role::Assists => format!("{} to {}", agree("helps"), plain_form(&verb)),
        Role::Stabilises => {
            let joint = v.joints.get(&action.joint);
            let joint = joint.map_or_else(|| spaced(&action.joint), |joint| joint.name.clone());
            format!("{} the {joint} while others {}", agree("steadies"), plain_form(&verb))
        }
    };
    match &action.condition {
        Some(condition) => format!("{said} {condition}"),
        None => said,
    }
}

/// What supplies a muscle: `axillary nerve (C5, C6)`, or with the part it reaches: `lateral
/// pectoral nerve to its clavicular head`.
pub fn innervation_phrase(v: &Vocabulary, muscle: &Muscle, innervation: &Innervation) -> String {
    let mut phrase = nerve_name(v, innervation);
    if !innervation.roots.is_empty() {
        phrase = format!("{phrase} ({})", innervation.roots.join(", "));
    }
    match subject(muscle, innervation.part.as_ref()).0 {
        Some(part) => format!("{phrase} to {part}"),
        None => phrase,
    }
}

pub(crate) fn nerve_name(v: &Vocabulary, innervation: &Innervation) -> String {
    let nerve = v.nerves.get(&innervation.nerve);
    nerve.map_or_else(|| spaced(&innervation.nerve), |nerve| nerve.name.clone())
}

/// The subject of a fact that holds of a part, and whether it takes a plural verb.
pub(crate) fn subject(muscle: &Muscle, part: Option<&PartKey>) -> (Option<String>, bool) {
    let Some(key) = part else { return (None, false) };
    let name = part_name(muscle, key);
    let many = name.ends_with('s');
    (Some(format!("its {name}")), many)
}

fn part_name(muscle: &Muscle, key: &PartKey) -> String {
    muscle.part(key).map_or_else(|| spaced(key), |part| part.name.clone())
}

/// `a`, `a and b`, `a, b and c`.
pub fn listed(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

/// A key in words, for a word that the vocabulary lacks (a hand-made muscle in a test).
pub(crate) fn spaced(key: &impl Display) -> String {
    key.to_string().replace('-', " ")
}

/// Where something attaches.
struct Place {
    text: String,
    /// A numbered run such as `ribs 3-5`, which takes no article.
    row: bool,
}

fn place(v: &Vocabulary, key: &LandmarkKey, span: Option<&Span>) -> Place {
    let Some(landmark) = v.landmarks.get(key) else {
        return Place { text: spaced(key), row: false };
    };
    let bone = v.bone_of(key).and_then(|bone| v.bones.get(bone));
    let alone = landmark.stands_alone || bone.is_none_or(|bone| bone.name == landmark.name);
    let name = &landmark.name;
    let text = match (span, bone) {
        (Some(span), _) if alone && !is_single(span) => {
            return Place { text: format!("{name} {span}"), row: true };
        }
        (Some(span), _) if alone => one_of(name, span),
        (Some(span), Some(bone)) => format!("{} of {}", counted(name, span), which(bone, span)),
        (None, Some(bone)) if !alone => with_bone(v, landmark, &bone.name),
        _ => name.clone(),
    };
    Place { text, row: false }
}

/// `greater tubercle of the humerus`; a finer place has the bone after the larger landmark's name:
/// `medial border of the scapula at the root of the spine`.
fn with_bone(v: &Vocabulary, landmark: &Landmark, bone: &str) -> String {
    let larger = landmark.within.as_ref().and_then(|larger| v.landmarks.get(larger));
    match larger.and_then(|larger| landmark.name.strip_prefix(larger.name.as_str())) {
        Some(rest) => {
            let (larger, _) = landmark.name.split_at(landmark.name.len() - rest.len());
            format!("{larger} of the {bone}{rest}")
        }
        None => format!("{} of the {bone}", landmark.name),
    }
}

/// `T2-T5`, `the first rib`, `ribs 3-5`.
fn which(bone: &Bone, span: &Span) -> String {
    if ordinal(span).is_none() && !is_number(span) {
        return span.to_string();
    }
    if is_single(span) {
        format!("the {}", one_of(&bone.name, span))
    } else {
        format!("{} {span}", bone.name)
    }
}

/// `first rib`, `vertebra C7`.
fn one_of(row: &str, span: &Span) -> String {
    match ordinal(span) {
        Some(ordinal) => format!("{ordinal} {}", singular(row)),
        None => format!("{} {span}", singular(row)),
    }
}

fn counted(name: &str, span: &Span) -> String {
    if is_single(span) { singular(name) } else { name.to_owned() }
}

fn is_single(span: &Span) -> bool {
    span.from == span.to
}

fn is_number(span: &Span) -> bool {
    span.from.starts_with(|c: char| c.is_ascii_digit())
}

fn ordinal(span: &Span) -> Option<&'static str> {
    let number: usize = span.from.parse().ok().filter(|_| is_single(span))?;
    ORDINALS.get(number.checked_sub(1)?).copied()
}

const ORDINALS: [&str; 12] = [
    "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth",
    "eleventh", "twelfth",
];

/// One of a plural: `spinous processes` to `spinous process`, `vertebrae` to `vertebra`.
fn singular(plural: &str) -> String {
    let endings = [("esses", "ess"), ("ies", "y"), ("ae", "a"), ("s", "")];
    let ending = endings.iter().find_map(|(many, one)| Some((plural.strip_suffix(many)?, one)));
    ending.map_or_else(|| plural.to_owned(), |(stem, one)| format!("{stem}{one}"))
}

/// The plain form of a verb in the third person, with what follows: `flexes the arm` to `flex the
/// arm`.
pub(crate) fn plain_form(phrase: &str) -> String {
    let (verb, rest) = phrase.split_once(' ').unwrap_or((phrase, ""));
    let endings = [("ies", "y"), ("sses", "ss"), ("xes", "x"), ("ches", "ch"), ("shes", "sh")];
    let ending =
        endings.iter().find_map(|(third, plain)| Some((verb.strip_suffix(third)?, *plain)));
    let (stem, plain) = ending.unwrap_or_else(|| (verb.strip_suffix('s').unwrap_or(verb), ""));
    format!("{stem}{plain} {rest}").trim_end().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;
    use crate::model::{JointKey, Level, MovementKey, MuscleKey, Part};

    fn v() -> &'static Vocabulary {
        &Catalogue::bundled().vocabulary
    }

    fn muscle(key: &str) -> &'static Muscle {
        Catalogue::bundled().muscle(&MuscleKey::new(key)).unwrap()
    }

    fn attachment(landmark: &str, span: Option<&str>, portion: Option<&str>) -> Attachment {
        Attachment {
            landmark: LandmarkKey::new(landmark),
            span: span.map(|span| span.parse().unwrap()),
            portion: portion.map(ToOwned::to_owned),
            part: None,
            level: Level::Full,
            sources: Vec::new(),
            variants: Vec::new(),
        }
    }

    #[test]
    fn places_in_words() {
        let check = |landmark, span, portion, expected: &str| {
            let found = the_attachment(v(), &attachment(landmark, span, portion));
            assert_eq!(found, expected);
        };
        check("lesser-tubercle", None, None, "the lesser tubercle of the humerus");
        check("clavicle", None, Some("lateral third of"), "the lateral third of the clavicle");
        check("acromion", None, None, "the acromion");
        check(
            "nuchal-ligament",
            None,
            Some("lower part of"),
            "the lower part of the nuchal ligament",
        );
        check("spinous-processes", Some("T2-T5"), None, "the spinous processes of T2-T5");
        check("spinous-processes", Some("C7"), None, "the spinous process of C7");
        check("costal-cartilages", Some("1-6"), None, "the costal cartilages of ribs 1-6");
        check("costal-cartilages", Some("1"), None, "the costal cartilage of the first rib");
        check(
            "superior-facet-of-greater-tubercle",
            None,
            None,
            "the superior facet of the greater tubercle of the humerus",
        );
        check(
            "medial-border-at-spine",
            None,
            None,
            "the medial border of the scapula at the root of the spine",
        );
        check("no-such-place", None, None, "the no such place");
    }

    #[test]
    fn runs_of_whole_bones() {
        let mut v = v().clone();
        let mut ribs = v.landmarks[&LandmarkKey::new("costal-cartilages")].clone();
        ribs.name = "ribs".to_owned();
        v.landmarks.insert(LandmarkKey::new("whole-ribs"), ribs);
        let check = |span, expected: &str| {
            assert_eq!(the_attachment(&v, &attachment("whole-ribs", Some(span), None)), expected);
        };
        check("3-5", "ribs 3-5");
        check("1", "the first rib");
        check("12", "the twelfth rib");
        let borders = attachment("whole-ribs", Some("3-5"), Some("upper borders of"));
        assert_eq!(the_attachment(&v, &borders), "the upper borders of ribs 3-5");
    }

    #[test]
    fn bones_in_words() {
        let check = |bone: &str, landmark, spans: &[Option<&str>], expected: &str| {
            let places: Vec<_> =
                spans.iter().map(|span| attachment(landmark, *span, None)).collect();
            let places: Vec<&Attachment> = places.iter().collect();
            assert_eq!(a_bone(v(), &BoneKey::new(bone), &places), expected);
        };
        check("humerus", "lesser-tubercle", &[None], "the humerus");
        check("ribs", "costal-cartilages", &[Some("1-6")], "the ribs");
        check("ribs", "costal-cartilages", &[Some("1")], "a single rib");
        check("vertebrae", "spinous-processes", &[Some("C7")], "a single vertebra");
        check("no-such-bone", "acromion", &[None], "the no such bone");
    }

    #[test]
    fn actions_in_words() {
        let mut swimmer = muscle("deltoid").clone();
        let fibres = Part {
            key: PartKey::new("upper-fibres"),
            name: "upper fibres".to_owned(),
            accepted: Vec::new(),
        };
        swimmer.parts.push(fibres);
        let check =
            |movement: &str, role, part: Option<&str>, condition: Option<&str>, expected| {
                let action = Action {
                    joint: JointKey::new("glenohumeral"),
                    movement: MovementKey::new(movement),
                    role,
                    part: part.map(PartKey::new),
                    condition: condition.map(ToOwned::to_owned),
                    level: Level::Full,
                    sources: Vec::new(),
                };
                assert_eq!(action_phrase(v(), &swimmer, &action), expected);
            };
        check("lateral-rotation", Role::PrimeMover, None, None, "rotates the arm laterally");
        check("abduction", Role::Assists, None, None, "helps to abduct the arm");
        check("flexion", Role::Assists, None, None, "helps to flex the arm");
        check("depression", Role::Assists, None, None, "helps to depress the arm");
        check(
            "extension",
            Role::PrimeMover,
            Some("posterior-part"),
            Some("from the flexed position"),
            "its posterior part extends the arm from the flexed position",
        );
        check(
            "flexion",
            Role::PrimeMover,
            Some("upper-fibres"),
            None,
            "its upper fibres flex the arm",
        );
        check(
            "flexion",
            Role::Assists,
            Some("upper-fibres"),
            None,
            "its upper fibres help to flex the arm",
        );
        check(
            "abduction",
            Role::Stabilises,
            None,
            None,
            "steadies the shoulder joint while others abduct the arm",
        );
    }

    #[test]
    fn actions_in_one_breath() {
        let check = |key: &str, level: Level, expected: &str| {
            let muscle = muscle(key);
            let taught = muscle.actions.iter().filter(|action| action.level <= level);
            let taught: Vec<&Action> = taught.collect();
            assert_eq!(actions_phrase(v(), muscle, &taught), expected);
        };
        check("supraspinatus", Level::Introductory, "abducts the arm");
        check(
            "latissimus-dorsi",
            Level::Introductory,
            "extends the arm, adducts it and rotates it medially",
        );
        check(
            "pectoralis-major",
            Level::Introductory,
            "adducts the arm and rotates it medially; its clavicular head flexes the arm",
        );
        check(
            "biceps-brachii",
            Level::Full,
            "flexes the forearm, supinates it and helps to flex the arm",
        );
        check(
            "teres-minor",
            Level::Full,
            "rotates the arm laterally, helps to extend it, helps to adduct it and steadies the \
             shoulder joint while others abduct the arm",
        );
    }

    #[test]
    fn nerves_in_words() {
        let mut supply = muscle("deltoid").innervation[0].clone();
        let check = |supply: &Innervation, expected: &str| {
            assert_eq!(innervation_phrase(v(), muscle("deltoid"), supply), expected);
        };
        check(&supply, "axillary nerve (C5, C6)");
        supply.part = Some(PartKey::new("middle-part"));
        supply.roots.clear();
        check(&supply, "axillary nerve to its middle part");
    }

    #[test]
    fn lists_in_words() {
        let check = |items: &[&str], expected: &str| {
            let items: Vec<String> = items.iter().map(ToString::to_string).collect();
            assert_eq!(listed(&items), expected);
        };
        check(&[], "");
        check(&["C5"], "C5");
        check(&["C5", "C6"], "C5 and C6");
        check(&["C5", "C6", "C7"], "C5, C6 and C7");
    }
}
