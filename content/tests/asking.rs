//! What a muscle may be asked about beside its name.

use myonym_content::problem::SourceFile;
use myonym_content::{Catalogue, Course, JointKey, ListKey, MovementKey, MuscleKey, OwnList};

fn course(list: &str) -> Course {
    let catalogue = Catalogue::bundled();
    let list = catalogue.list(&ListKey::new(list)).expect("the list");
    Course::new(catalogue, list).expect("a list that can be asked")
}

fn own(text: &str) -> Course {
    let file = SourceFile { path: "own.txt".to_owned(), text: text.to_owned() };
    let list = OwnList::read(&file, Catalogue::bundled()).expect("a list");
    Course::of_own(Catalogue::bundled(), &list).expect("a list that can be asked")
}

fn attachments(course: &Course, muscle: &str) -> Option<String> {
    course.attachments(&MuscleKey::new(muscle)).map(|clue| clue.text)
}

#[test]
fn both_ends_are_told_at_once_as_far_as_the_course_teaches_them() {
    let check = |list: &str, muscle: &str, expected: &str| {
        assert_eq!(attachments(&course(list), muscle).as_deref(), Some(expected), "{list}");
    };
    check(
        "shoulder",
        "teres-minor",
        "It arises from the upper two thirds of the lateral border of the scapula. It inserts on the \
         greater tubercle of the humerus.",
    );
    check(
        "shoulder-full",
        "teres-minor",
        "It arises from the upper two thirds of the lateral border of the scapula. It inserts on the \
         inferior facet of the greater tubercle of the humerus.",
    );
    check(
        "shoulder",
        "coracobrachialis",
        "It arises from the coracoid process of the scapula. It inserts on the medial surface of the \
         shaft of the humerus.",
    );
}

#[test]
fn a_course_may_word_an_end_and_an_action_itself() {
    let course = own("name: mine\n\npectoralis minor\n    origin: ribs 2-5 [handbook]\n    \
                      action: draws the scapula forwards [handbook]\nteres minor\n");
    let minor = MuscleKey::new("pectoralis-minor");
    let told = attachments(&course, "pectoralis-minor").unwrap();
    assert!(
        told.starts_with("It arises from ribs 2-5. It inserts on the coracoid process"),
        "{told}"
    );
    let own: Vec<(MovementKey, Vec<JointKey>)> =
        course.own_movements(&minor).into_iter().map(|own| (own.movement, own.joints)).collect();
    let protraction = MovementKey::new("protraction");
    assert_eq!(own, [(protraction, vec![JointKey::new("scapulothoracic")])]);
    assert!(course.own_movements(&MuscleKey::new("teres-minor")).is_empty());
}

#[test]
fn what_a_course_leaves_out_is_not_asked() {
    let no_ends = own("name: mine\nhide: attachment\n\nteres minor\nteres major\n");
    assert_eq!(attachments(&no_ends, "teres-minor"), None);
    let no_actions = own("name: mine\nhide: action\n\nteres minor\nteres major\n");
    assert!(no_actions.taught_movements(&MuscleKey::new("teres-minor")).is_empty());
}

/// Teres minor steadies the shoulder joint in abduction and does not abduct: common practice, no
/// source.
#[test]
fn to_steady_is_not_to_move() {
    let full = course("shoulder-full");
    let taught = full.taught_movements(&MuscleKey::new("teres-minor"));
    let moves: Vec<&str> = taught.iter().map(|action| action.movement.as_str()).collect();
    assert!(moves.contains(&"lateral-rotation"), "{moves:?}");
    assert!(!moves.contains(&"abduction"), "{moves:?}");
}
