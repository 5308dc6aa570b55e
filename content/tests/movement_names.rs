//! Which movement a typed text names. How movements are called, and which words mean the same, is
//! common practice, no source.

use std::sync::LazyLock;

use myonym_content::{Catalogue, Course, JointKey, ListKey, MovementResolution, NamedMovement};
use proptest::prelude::*;

static COURSE: LazyLock<Course> = LazyLock::new(|| {
    let catalogue = Catalogue::bundled();
    let list = catalogue.list(&ListKey::new("full")).expect("the list");
    Course::new(catalogue, list).expect("a list that can be asked")
});

/// `movement @ joint joint`, with `~` for a misspelling, `?` for a question and `-` for nothing.
fn said(typed: &str) -> String {
    let shown = |named: &NamedMovement| {
        let joints: Vec<&str> = named.joints.iter().map(JointKey::as_str).collect();
        format!("{} @ {}", named.movement, joints.join(" ")).trim_end_matches(" @ ").to_owned()
    };
    let names = |among: &[NamedMovement]| {
        among.iter().map(|named| named.name.clone()).collect::<Vec<_>>().join(", ")
    };
    match COURSE.resolve_movement(typed) {
        MovementResolution::Exact { movement } => shown(&movement),
        MovementResolution::Misspelt { movement, .. } => format!("~ {}", shown(&movement)),
        MovementResolution::WhichOne { among } => format!("? {}", names(&among)),
        MovementResolution::Unknown { nearest } => format!("- {}", names(&nearest)).trim().into(),
        MovementResolution::Empty => "nothing".to_owned(),
    }
}

fn all(texts: &[&str], expected: &str) {
    for typed in texts {
        assert_eq!(said(typed), expected, "{typed}");
    }
}

#[test]
fn a_movement_alone_is_at_any_joint() {
    all(&["Lateral rotation", "external rotation", "outward rotation"], "lateral-rotation");
    all(&["rotates laterally", "turns outwards", "turning outward"], "lateral-rotation");
    all(&["internal rotation", "inward rotation", "rotates it medially"], "medial-rotation");
    all(&["flexion", "flexes", "flex", "bends", "bending"], "flexion");
    all(&["extension", "extends", "straightens", "straightening"], "extension");
    all(&["elevation", "raises", "lifting"], "elevation");
    all(&["depression", "lowers", "depress"], "depression");
    all(&["plantar flexion", "plantar-flexes", "plantarflexion"], "plantar-flexion");
    all(&["dorsiflexion", "dorsi-flexion", "dorsal flexion"], "dorsiflexion");
    // That of the scapula is meant only where it is named.
    all(&["abduction", "abducts"], "abduction");
}

#[test]
fn a_movement_with_what_moves_or_the_joint() {
    let forearm = ["flexion of the forearm", "flexes the elbow", "elbow flexion", "bend the elbow"];
    all(&forearm, "flexion @ elbow");
    all(&["flexion of the forearm at the elbow joint"], "flexion @ elbow");
    all(
        &[
            "external rotation of the arm",
            "turns the arm outwards",
            "lateral rotation of the humerus",
            "external rotation of the shoulder",
            "rotates the arm laterally at the shoulder joint",
            "It rotates the arm laterally.",
        ],
        "lateral-rotation @ glenohumeral",
    );
    all(&["pronation of the hand", "pronates the forearm"], "pronation @ radioulnar");
    all(
        &["abduction of the scapula", "scapular protraction"][..1],
        "protraction @ scapulothoracic",
    );
    all(&["adduction of the shoulder blade"], "retraction @ scapulothoracic");
    all(&["abduction of the shoulder"], "abduction @ glenohumeral");
    all(&["lateral rotation of the scapula"], "upward-rotation @ scapulothoracic");
    all(&["radial deviation", "radial deviation of the wrist"], "abduction @ wrist");
    all(&["closes the jaw", "elevation of the mandible"], "elevation @ temporomandibular");
    all(
        &["flexion of the fingers"],
        "flexion @ fingers-distal-interphalangeal fingers-metacarpophalangeal \
         fingers-proximal-interphalangeal index-finger-metacarpophalangeal \
         little-finger-metacarpophalangeal",
    );
    all(&["bends the head to the same side"], "lateral-flexion @ atlanto-occipital cervical-spine");
    all(&["rotation to the opposite side"], "contralateral-rotation");
}

#[test]
fn slips_are_forgiven_where_one_movement_alone_can_be_meant() {
    all(&["flexoin"], "~ flexion");
    all(&["latteral rotation of the arm"], "~ lateral-rotation @ glenohumeral");
    all(&["flexion of the forarm"], "~ flexion @ elbow");
    all(&["aduction"], "? abduction, adduction");
    all(&["abducion"], "~ abduction");
    // Four letters are too few to be sure of.
    all(&["flax"], "- flexion");
}

#[test]
fn in_doubt_it_is_asked() {
    all(&["rotation of the arm"], "? lateral rotation of the arm, medial rotation of the arm");
    all(&["closes the mouth"], "? closing of the lips, elevation of the mandible");
    all(
        &["rotation of the scapula"],
        "? downward rotation of the scapula, upward rotation of the scapula",
    );
}

#[test]
fn what_no_joint_does_is_no_movement() {
    all(&["pronation of the arm"], "- pronation");
    all(&["arm", "wiggling", "palm up"], "-");
    all(&["", " ?! "], "nothing");
    all(&["flexion and abduction"], "- abduction");
    all(&["compression"], "? compression, pressing");
    all(&["compresses the cheek"], "pressing @ cheek");
}

/// What is offered to choose from is taken when it is chosen, and means the same.
#[test]
fn every_movement_of_every_joint_is_known_by_its_name() {
    for (key, joint) in &COURSE.vocabulary().joints {
        for movement in &joint.movements {
            let known = &COURSE.vocabulary().movements[movement];
            let by_noun = format!("{} of the {}", known.name, joint.segment);
            let by_verb = known.verb.replace("{}", &format!("the {}", joint.segment));
            for typed in [by_noun, by_verb, format!("{} of the {}", known.name, joint.name)] {
                let MovementResolution::Exact { movement: named } = COURSE.resolve_movement(&typed)
                else {
                    panic!("{typed}: {}", said(&typed));
                };
                assert_eq!(named.movement, *movement, "{typed}");
                assert!(named.joints.contains(key), "{typed}: {:?}", named.joints);
                let again = COURSE.resolve_movement(&named.name);
                assert_eq!(again, MovementResolution::Exact { movement: named }, "{typed}");
            }
        }
    }
}

proptest! {
    #[test]
    fn any_text_is_safe(typed in any::<String>()) {
        said(&typed);
    }

    /// Whatever is understood or offered has a name that means the same.
    #[test]
    fn what_is_offered_is_known(
        typed in "(flexion|rotat|abduct|clos|turn|arm|jaw|mouth|scapula|of the|hand|elvation|side ?){1,4}",
    ) {
        let offered = match COURSE.resolve_movement(&typed) {
            MovementResolution::WhichOne { among } => among,
            MovementResolution::Unknown { nearest } => nearest,
            MovementResolution::Exact { movement } | MovementResolution::Misspelt { movement, .. } => {
                vec![movement]
            }
            MovementResolution::Empty => Vec::new(),
        };
        for named in offered {
            let again = COURSE.resolve_movement(&named.name);
            prop_assert_eq!(again, MovementResolution::Exact { movement: named.clone() });
        }
    }
}
