//! What every instructor of anatomy would hold the shoulder's data to.
//!
//! All of it is common practice, no source: it checks the data against what the trade teaches,
//! also where `reference.rs` has no text to check against. Roots are values from memory.

use myonym_content::catalogue::Catalogue;
use myonym_content::model::{Attachment, GroupKey, Level, Muscle, MuscleKey, Role, Span};
use myonym_content::vocabulary::Vocabulary;

#[test]
fn the_rotator_cuff_is_the_four() {
    let cuff = GroupKey::new("rotator-cuff");
    let members = Catalogue::bundled().muscles().filter(|muscle| muscle.groups.contains(&cuff));
    let members: Vec<_> = members.map(|muscle| muscle.key.as_str()).collect();
    assert_eq!(members, ["infraspinatus", "subscapularis", "supraspinatus", "teres-minor"]);
}

/// What the four do together: hold the head of the humerus in its socket while the deltoid lifts.
#[test]
fn the_rotator_cuff_steadies_the_shoulder_joint() {
    let steadies = |muscle: &&Muscle| {
        let mut actions = muscle.actions.iter();
        actions.any(|a| a.joint.as_str() == "glenohumeral" && a.role == Role::Stabilises)
    };
    let members = Catalogue::bundled().muscles().filter(steadies);
    let members: Vec<_> = members.map(|muscle| muscle.key.as_str()).collect();
    assert_eq!(members, ["infraspinatus", "subscapularis", "supraspinatus", "teres-minor"]);
}

/// Main actions: done as a prime mover, and taught in every course.
#[test]
fn main_actions() {
    let check = |key: &str, joint: &str, expected: &[&str]| {
        let actions = muscle(key).actions.iter().filter(|action| {
            action.joint.as_str() == joint
                && action.role == Role::PrimeMover
                && action.level == Level::Introductory
        });
        let mut movements: Vec<_> = actions.map(|action| action.movement.as_str()).collect();
        movements.sort_unstable();
        movements.dedup();
        assert_eq!(movements, expected, "{key} at the {joint} joint");
    };
    let scapula = |key, expected: &[&str]| check(key, "scapulothoracic", expected);
    scapula("trapezius", &["depression", "elevation", "retraction", "upward-rotation"]);
    scapula("levator-scapulae", &["downward-rotation", "elevation"]);
    scapula("rhomboid-major", &["downward-rotation", "retraction"]);
    scapula("rhomboid-minor", &["downward-rotation", "retraction"]);
    scapula("serratus-anterior", &["protraction", "upward-rotation"]);
    scapula("pectoralis-minor", &["depression", "protraction"]);
    check("subclavius", "sternoclavicular", &["depression"]);
    let arm = |key, expected: &[&str]| check(key, "glenohumeral", expected);
    arm("pectoralis-major", &["adduction", "flexion", "medial-rotation"]);
    arm("latissimus-dorsi", &["adduction", "extension", "medial-rotation"]);
    arm("deltoid", &["abduction", "extension", "flexion", "lateral-rotation", "medial-rotation"]);
    arm("supraspinatus", &["abduction"]);
    arm("infraspinatus", &["lateral-rotation"]);
    arm("teres-minor", &["lateral-rotation"]);
    arm("subscapularis", &["medial-rotation"]);
    arm("teres-major", &["adduction", "extension", "medial-rotation"]);
    arm("coracobrachialis", &["adduction", "flexion"]);
    check("biceps-brachii", "elbow", &["flexion"]);
    check("biceps-brachii", "radioulnar", &["supination"]);
    check("triceps-brachii", "elbow", &["extension"]);
}

#[test]
fn parts_of_trapezius_and_deltoid_pull_their_own_way() {
    let check = |key: &str, part: &str, expected: &[&str]| {
        let actions = muscle(key).actions.iter().filter(|action| {
            action.level == Level::Introductory
                && action.part.as_ref().is_some_and(|own| own.as_str() == part)
        });
        let movements: Vec<_> = actions.map(|action| action.movement.as_str()).collect();
        assert_eq!(movements, expected, "{part} of {key}");
    };
    check("trapezius", "upper-part", &["elevation", "upward-rotation"]);
    check("trapezius", "lower-part", &["depression", "upward-rotation"]);
    check("deltoid", "anterior-part", &["flexion", "medial-rotation"]);
    check("deltoid", "posterior-part", &["extension", "lateral-rotation"]);
}

#[test]
fn nerves_and_roots() {
    let check = |key: &str, expected: &[&str]| {
        let supply = muscle(key).innervation.iter();
        let supply = supply.map(|supply| format!("{} {}", supply.nerve, supply.roots.join(" ")));
        let supply: Vec<_> = supply.map(|supply| supply.trim_end().to_owned()).collect();
        assert_eq!(supply, expected, "{key}");
    };
    check("trapezius", &["accessory", "cervical C3 C4"]);
    check("levator-scapulae", &["dorsal-scapular C5", "cervical C3 C4"]);
    check("rhomboid-major", &["dorsal-scapular C5"]);
    check("rhomboid-minor", &["dorsal-scapular C5"]);
    check("serratus-anterior", &["long-thoracic C5 C6 C7"]);
    check("pectoralis-minor", &["medial-pectoral C8 T1"]);
    check("subclavius", &["nerve-to-subclavius C5 C6"]);
    check("pectoralis-major", &["lateral-pectoral C5 C6 C7", "medial-pectoral C8 T1"]);
    check("latissimus-dorsi", &["thoracodorsal C6 C7 C8"]);
    check("deltoid", &["axillary C5 C6"]);
    check("supraspinatus", &["suprascapular C5 C6"]);
    check("infraspinatus", &["suprascapular C5 C6"]);
    check("teres-minor", &["axillary C5 C6"]);
    check("subscapularis", &["upper-subscapular C5 C6", "lower-subscapular C5 C6"]);
    check("teres-major", &["lower-subscapular C5 C6"]);
    check("coracobrachialis", &["musculocutaneous C5 C6 C7"]);
    check("biceps-brachii", &["musculocutaneous C5 C6"]);
    check("triceps-brachii", &["radial C6 C7 C8"]);
}

/// Rhomboid minor arises wholly above rhomboid major: its lowest vertebra is above the other's
/// highest. It also inserts above it: at the root of the spine, the other below.
#[test]
fn rhomboid_minor_lies_above_major() {
    let span = |key: &str| {
        let mut spans = muscle(key).origins.iter().filter_map(|origin| origin.span.as_ref());
        spans.next().and_then(Span::bounds).expect("a span of vertebrae")
    };
    assert!(span("rhomboid-minor").1 < span("rhomboid-major").0);
    assert!(at(&muscle("rhomboid-minor").insertions, "medial-border-at-spine").is_some());
    assert!(at(&muscle("rhomboid-major").insertions, "medial-border-below-spine").is_some());
}

/// Teres minor arises from the upper part of the lateral border, teres major from the angle that
/// the border ends in below.
#[test]
fn teres_minor_arises_above_major() {
    let minor = at(&muscle("teres-minor").origins, "lateral-border-of-scapula").unwrap();
    assert!(minor.portion.as_ref().is_some_and(|portion| portion.starts_with("upper")));
    assert!(at(&muscle("teres-major").origins, "inferior-angle-of-scapula").is_some());
}

/// From above downwards on the greater tubercle: supraspinatus, infraspinatus, teres minor; from
/// lateral to medial in the intertubercular sulcus ("a lady between two majors"): pectoralis
/// major, latissimus dorsi, teres major.
#[test]
fn insertions_in_order_round_the_head_of_the_humerus() {
    let vocabulary = &Catalogue::bundled().vocabulary;
    let check = |larger: &str, expected: &[(&str, &str)]| {
        for (key, finer) in expected {
            let insertions = &muscle(key).insertions;
            let inside = insertions.iter().filter(|a| lies_in(vocabulary, a, larger));
            let finest: Vec<_> = inside.map(|attachment| attachment.landmark.as_str()).collect();
            assert_eq!(finest, [*finer], "{key}");
        }
    };
    check(
        "greater-tubercle",
        &[
            ("supraspinatus", "superior-facet-of-greater-tubercle"),
            ("infraspinatus", "middle-facet-of-greater-tubercle"),
            ("teres-minor", "inferior-facet-of-greater-tubercle"),
        ],
    );
    check(
        "intertubercular-sulcus",
        &[
            ("pectoralis-major", "lateral-lip-of-intertubercular-sulcus"),
            ("latissimus-dorsi", "floor-of-intertubercular-sulcus"),
            ("teres-major", "medial-lip-of-intertubercular-sulcus"),
        ],
    );
}

/// Three muscles meet on the coracoid process: two arise there, one inserts.
#[test]
fn the_coracoid_process_carries_three() {
    let here = |attachments: fn(&Muscle) -> &[Attachment]| -> Vec<&str> {
        let muscles = Catalogue::bundled().muscles();
        let muscles = muscles.filter(|m| at(attachments(m), "coracoid-process").is_some());
        muscles.map(|muscle| muscle.key.as_str()).collect()
    };
    assert_eq!(here(|muscle| &muscle.origins), ["biceps-brachii", "coracobrachialis"]);
    assert_eq!(here(|muscle| &muscle.insertions), ["pectoralis-minor"]);
}

fn muscle(key: &str) -> &'static Muscle {
    Catalogue::bundled().muscle(&MuscleKey::new(key)).expect("a muscle of ours")
}

fn at<'a>(attachments: &'a [Attachment], landmark: &str) -> Option<&'a Attachment> {
    attachments.iter().find(|attachment| attachment.landmark.as_str() == landmark)
}

/// Whether an attachment is to a part of a landmark, and not to all of it.
fn lies_in(vocabulary: &Vocabulary, attachment: &Attachment, larger: &str) -> bool {
    vocabulary.with_larger(&attachment.landmark).skip(1).any(|(key, _)| key.as_str() == larger)
}
