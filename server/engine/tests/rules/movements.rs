//! Marking of movements with the courses that come with the program.

use std::sync::LazyLock;

use myonym_content::derived::Certainty;
use myonym_content::{
    Catalogue, Course, JointKey, ListKey, MovementKey, MovementResolution, MuscleKey,
};
use myonym_engine::score::NEAR_MOST;
use myonym_engine::{Answer, Command, Event, Makes, Planned, SaidMovement, SpellingFound, example};
use myonym_wire::{Millis, RoundNo, Task, Verdict};
use proptest::prelude::*;
use proptest::sample::select;

use crate::room::{Room, SHOULDER, answering, attempt, say, seat, settings, student};

static FULL: LazyLock<Course> = LazyLock::new(|| {
    let catalogue = Catalogue::bundled();
    let list = catalogue.list(&ListKey::new("full")).expect("the list");
    Course::new(catalogue, list).expect("a list that can be asked")
});

/// The data have the actions of `OpenStax`, Anatomy and Physiology 2e, chapter 11, and of Gray 1918;
/// which words name them is common practice, no source.
#[test]
fn what_a_muscle_is_taught_to_do_is_right() {
    use Verdict::{Right, Wrong};
    let check = |muscle, typed, expected| {
        let answer = taken(muscle, typed);
        assert_eq!(verdict(&answer), expected, "{typed} of {muscle}: {answer:?}");
        assert_eq!((answer.said, answer.spelling), (None, SpellingFound::Exact));
    };
    // Alone, at any joint it makes it.
    check("teres-minor", "lateral rotation", Right);
    check("teres-minor", "external rotation of the arm", Right);
    check("teres-minor", "turns the arm outwards", Right);
    check("teres-minor", "internal rotation", Wrong);
    check("teres-minor", "lateral rotation of the scapula", Wrong);
    // A lesser action of a full course counts in an introductory one, ...
    check("teres-minor", "adduction of the arm", Right);
    // ... one that others make while it steadies the joint does not: common practice, no source.
    check("teres-minor", "abduction", Wrong);
    // Two joints, and an action of a part alone.
    check("biceps-brachii", "elbow flexion", Right);
    check("biceps-brachii", "supination of the hand", Right);
    check("biceps-brachii", "flexion of the arm", Right);
    check("biceps-brachii", "extends the elbow", Wrong);
    check("deltoid", "flexes the arm", Right);
    check("pectoralis-major", "flexion of the arm", Right);
    check("serratus-anterior", "abduction of the scapula", Right);
    check("serratus-anterior", "protraction", Right);
}

#[test]
fn a_slip_is_forgiven_and_the_movement_is_logged_in_words() {
    let answer = taken("teres-minor", "lateral rotaton of the humerus");
    assert_eq!((answer.spelling, answer.exact), (SpellingFound::Misspelt, true));
    assert_eq!(answer.said_name.as_deref(), Some("lateral rotation of the arm"));
    let movement = answer.movement.expect("a movement");
    assert_eq!(movement.movement.as_str(), "lateral-rotation");
    assert_eq!(movement.joints.iter().map(JointKey::as_str).collect::<Vec<_>>(), ["glenohumeral"]);
}

/// What is taught nowhere, but follows from the line of pull: surely is right, likely is near.
#[test]
fn what_is_derived_counts_as_far_as_it_is_sure() {
    let check = |certainty, expected: (bool, f64)| {
        // Derived with this certainty, of no part more surely, and taught nowhere.
        let fits = |muscle: &MuscleKey| {
            let derived = FULL.derived(muscle);
            derived.iter().find(|it| {
                let same = |joint: &JointKey, movement: &MovementKey| {
                    *joint == it.joint && *movement == it.movement
                };
                let taught = FULL.all_movements(muscle);
                let taught = taught.iter().any(|action| same(&action.joint, &action.movement));
                let mut of_any_part = derived.iter().filter(|one| same(&one.joint, &one.movement));
                it.arm_mm >= 5.0
                    && !taught
                    && of_any_part.all(|one| one.certainty <= certainty)
                    && it.certainty == certainty
            })
        };
        let found = muscles().into_iter().find_map(|muscle| {
            let derived = fits(&muscle)?.clone();
            Some((muscle, derived))
        });
        let (muscle, derived) = found.expect("an action that is derived alone");
        let typed = FULL.name_movement(&derived.movement, Some(&derived.joint));
        let answer = taken_in(&FULL, muscle.as_str(), &typed);
        assert_eq!((answer.exact, answer.credit), expected, "{typed} of {muscle}: {derived:?}");
    };
    check(Certainty::Sure, (true, 1.0));
    check(Certainty::Likely, (false, NEAR_MOST));
    check(Certainty::CannotSay, (false, 0.0));
}

/// Every muscle of a full course whose action is taught.
fn muscles() -> Vec<MuscleKey> {
    let taught = |muscle: &MuscleKey| !FULL.taught_movements(muscle).is_empty();
    let all = FULL.items().iter().map(|item| item.muscle.clone());
    all.filter(taught).collect()
}

proptest! {
    /// Whatever is told as right is marked as right when it is typed, and an example is not.
    #[test]
    fn what_is_told_as_right_is_right(muscle in select(muscles()), turn: u16) {
        let makes = Makes::of(&FULL, &muscle);
        let said = |typed: &str| {
            let found = FULL.resolve_movement(typed);
            let MovementResolution::Exact { movement } = found else { panic!("{typed}: {found:?}") };
            SaidMovement { movement: movement.movement, joints: movement.joints }
        };
        let names = makes.names(&FULL);
        prop_assert!(!names.is_empty());
        for name in names {
            let exact = said(&name);
            prop_assert_eq!(makes.verdict(&exact), Verdict::Right, "{} of {}", name, muscle);
            let alone = SaidMovement { joints: Vec::new(), ..exact };
            prop_assert_eq!(makes.verdict(&alone), Verdict::Right, "{} of {}", name, muscle);
        }
        let example = example(&FULL, &muscle, turn).expect("another movement");
        let alone = SaidMovement { joints: Vec::new(), ..said(&example) };
        prop_assert_eq!(makes.verdict(&alone), Verdict::Wrong, "{} of {}", example, muscle);
    }
}

/// The example must not tell by its absence what is right.
#[test]
fn examples_change_from_round_to_round() {
    let muscle = MuscleKey::new("teres-minor");
    let of = |turn| example(&SHOULDER, &muscle, turn).expect("an example");
    let some: std::collections::BTreeSet<String> = (1..12).map(of).collect();
    assert!(some.len() > 6, "{some:?}");
}

fn verdict(answer: &Answer) -> Verdict {
    myonym_engine::score::verdict(answer.exact, answer.credit)
}

/// The answer that a typed movement is taken for.
fn taken(muscle: &str, typed: &str) -> Answer {
    taken_in(&SHOULDER, muscle, typed)
}

fn taken_in(course: &'static Course, muscle: &str, typed: &str) -> Answer {
    let planned = Planned { muscle: MuscleKey::new(muscle), task: Task::Movement, beside: None };
    let mut room = Room::open_with(course, settings(), vec![planned]);
    room.tell(0, seat(student('a')));
    room.tell(0, say(Command::Start));
    room.tell(1_000, answering(student('a'), RoundNo(1), attempt(1), Millis(1_000), typed));
    let answered = room.log.into_iter().find_map(|logged| {
        let Event::Answered(answer) = logged.event else { return None };
        Some(answer)
    });
    answered.unwrap_or_else(|| panic!("{typed} of {muscle} was not taken"))
}
