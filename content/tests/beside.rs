//! Clues for a choice between two muscles.

use std::sync::LazyLock;

use myonym_content::course::MOST_CLUES;
use myonym_content::cue::Cues;
use myonym_content::problem::SourceFile;
use myonym_content::{Catalogue, Clue, ClueKind, Course, ListKey, MuscleKey, OwnList};

static COURSES: LazyLock<Vec<Course>> = LazyLock::new(|| {
    let catalogue = Catalogue::bundled();
    // The full course holds every muscle; the introductory ones teach less of each.
    let wanted = ["shoulder", "introductory", "full", "mastication"].map(ListKey::new);
    let lists = wanted.iter().map(|key| catalogue.list(key).expect("a bundled list"));
    lists.map(|list| Course::new(catalogue, list).expect("a sound list")).collect()
});

fn shoulder() -> &'static Course {
    &COURSES[0]
}

fn told(course: &Course, muscle: &str, other: &str) -> Vec<Clue> {
    course.clues_beside(&MuscleKey::new(muscle), &MuscleKey::new(other))
}

/// What tells teres minor from teres major: common practice, no source.
#[test]
fn what_tells_apart_comes_first() {
    let check_in = |course: &Course, muscle: &str, other: &str, kind: ClueKind, part: &str| {
        let told = told(course, muscle, other);
        let first = told.first().unwrap_or_else(|| panic!("no clue on {muscle}"));
        assert!(first.kind == kind && first.text.contains(part), "{muscle} / {other}: {told:?}");
    };
    let check = |muscle: &str, other: &str, kind, part: &str| {
        check_in(shoulder(), muscle, other, kind, part);
    };
    check("teres-minor", "teres-major", ClueKind::Action, "laterally");
    check("teres-major", "teres-minor", ClueKind::Action, "medially");
    check("supraspinatus", "infraspinatus", ClueKind::Action, "abducts");
    // The fossa has its name from the same word: it is told first only where nothing else tells.
    check("infraspinatus", "teres-minor", ClueKind::Origin, "infraspinous fossa");
    let full = &COURSES[2];
    check_in(full, "infraspinatus", "teres-minor", ClueKind::Insertion, "middle facet");
    check_in(full, "flexor-carpi-ulnaris", "flexor-carpi-radialis", ClueKind::Action, "adducts");
}

#[test]
fn the_first_clue_is_untrue_of_the_other_and_none_is_untrue_of_the_muscle() {
    let mut cues = Cues::new(Catalogue::bundled());
    let (mut pairs, mut apart) = (0, 0);
    for course in COURSES.iter() {
        for (at, item) in course.items().iter().enumerate() {
            // Each with those after it in the list: neighbours, as lists go by region.
            for other in course.items().iter().cycle().skip(at + 1).take(12) {
                let told = course.clues_beside(&item.muscle, &other.muscle);
                pairs += 1;
                apart += usize::from(!told.is_empty());
                assert!(told.len() <= MOST_CLUES, "{told:?}");
                let ruled_out: Vec<bool> = told
                    .iter()
                    .map(|clue| {
                        let cue = cues.cue(&item.muscle, clue).expect("a clue of the data");
                        assert!(!cue.rules_out(&item.muscle), "{} {clue:?}", item.name);
                        cue.rules_out(&other.muscle)
                    })
                    .collect();
                assert!(ruled_out.is_sorted_by(|a, b| a >= b), "{} {told:?}", item.name);
                assert!(ruled_out.first() != Some(&false), "{} {told:?}", item.name);
                let name = item.name.to_lowercase();
                assert!(told.iter().all(|clue| !clue.text.to_lowercase().contains(&name)));
            }
        }
    }
    // Every list singles each of its muscles out; few can be told only by their own name.
    assert!(apart * 100 >= pairs * 98, "{apart} of {pairs}");
}

#[test]
fn a_muscle_that_is_not_on_the_list_may_be_the_other() {
    let course = shoulder();
    assert!(course.item(&MuscleKey::new("soleus")).is_none());
    assert!(!told(course, "teres-minor", "soleus").is_empty());
}

#[test]
fn nothing_tells_a_muscle_from_itself_or_from_one_that_is_not_known() {
    assert_eq!(told(shoulder(), "teres-minor", "teres-minor"), []);
    assert_eq!(told(shoulder(), "teres-minor", "no-such"), []);
    assert_eq!(told(shoulder(), "no-such", "teres-minor"), []);
}

/// A course's own wording cannot be held against another muscle: whether it tells the two apart is
/// not known.
#[test]
fn own_words_are_not_taken_to_tell_apart() {
    let text = "teres minor\n    action: turns the arm outwards [handbook]\nteres major\n    \
                origin: lower corner of the shoulder blade [handbook]\ndeltoid\n";
    let file = SourceFile { path: "own.txt".to_owned(), text: text.to_owned() };
    let own = OwnList::read(&file, Catalogue::bundled()).expect("a sound list");
    let course = Course::of_own(Catalogue::bundled(), &own).expect("a sound course");
    let told = told(&course, "teres-minor", "teres-major");
    let first = told.first().expect("a clue");
    assert!(first.kind != ClueKind::Action && first.kind != ClueKind::Origin, "{told:?}");
}
