//! Clues of the bundled muscle lists.

use std::collections::BTreeSet;
use std::sync::LazyLock;

use myonym_content::catalogue::Catalogue;
use myonym_content::clue::{Clue, ClueKind};
use myonym_content::course::{Course, CourseError, Item, MOST_CLUES};
use myonym_content::list::{FactKind, MuscleList};
use myonym_content::model::{Level, ListKey, MuscleKey};
use myonym_content::name::fold;
use proptest::prelude::*;
use proptest::sample::subsequence;

static COURSES: LazyLock<Vec<Course>> = LazyLock::new(|| {
    let catalogue = Catalogue::bundled();
    catalogue
        .lists()
        .map(|list| Course::new(catalogue, list).expect("bundled lists are sound"))
        .collect()
});

fn list_of(muscles: &[&str], level: Level, hide: &[FactKind]) -> MuscleList {
    MuscleList {
        key: ListKey::new("made-for-a-test"),
        name: "made for a test".to_owned(),
        level,
        muscles: muscles.iter().map(|key| MuscleKey::new(*key)).collect(),
        hide: hide.to_vec(),
    }
}

fn course_of(muscles: &[&str], level: Level, hide: &[FactKind]) -> Result<Course, CourseError> {
    Course::new(Catalogue::bundled(), &list_of(muscles, level, hide))
}

/// What holds of every order of clues.
fn check_order(course: &Course, item: &Item) {
    let name = &item.name;
    let clues = &item.clues;
    let statements = course.statements(&item.muscle);
    let mut before = course.items().len();
    let mut bits = 0.0;
    for ordered in clues {
        let Clue { text, .. } = &ordered.clue;
        assert!(statements.contains(&ordered.clue), "{name}: {text} is not true of it");
        assert!(!fold(text).contains(&fold(name)), "{name}: {text} names it");
        let telling = ordered.remaining < before && ordered.bits > 0.0;
        let rounding_off = ordered.remaining == 1 && before == 1 && ordered.bits == 0.0;
        assert!(telling || rounding_off, "{name}: {ordered:?} after {before}");
        before = ordered.remaining;
        bits += ordered.bits;
    }
    assert_eq!(before, 1, "{name} is not singled out");
    let count = f64::from(u32::try_from(course.items().len()).expect("a short list"));
    assert!((bits - count.log2()).abs() < 1e-9, "{name}: {bits} bits of {}", count.log2());
    let texts: BTreeSet<&str> = clues.iter().map(|ordered| ordered.clue.text.as_str()).collect();
    assert_eq!(texts.len(), clues.len(), "{name}: a clue is told twice");
    assert!(clues.len() <= MOST_CLUES, "{name}: {} clues", clues.len());
    let has = |wanted: fn(ClueKind) -> bool| clues.iter().any(|told| wanted(told.clue.kind));
    let hide = &course.list().hide;
    let hidden = |kind| hide.contains(&kind);
    assert_eq!(has(|kind| kind == ClueKind::Action), !hidden(FactKind::Action), "{name}");
    assert_eq!(has(ClueKind::is_attachment), !hidden(FactKind::Attachment), "{name}");
    if hidden(FactKind::Innervation) {
        assert!(!has(|kind| matches!(kind, ClueKind::Nerve | ClueKind::Roots)), "{name}");
    }
}

#[test]
fn every_muscle_of_every_bundled_list_is_singled_out() {
    for course in COURSES.iter() {
        assert_eq!(course.items().len(), course.list().muscles.len());
        for item in course.items() {
            check_order(course, item);
        }
    }
}

/// Common practice (no source): the movement and the tubercle before the place of origin, which
/// only one muscle has; the nerve, for those who still hesitate, last.
#[test]
fn teres_minor_from_vague_to_telling() {
    let course = course_of(
        &["supraspinatus", "infraspinatus", "teres-minor", "teres-major"],
        Level::Full,
        &[],
    )
    .unwrap();
    let item = course.item(&MuscleKey::new("teres-minor")).unwrap();
    let told: Vec<(&str, usize)> =
        item.clues.iter().map(|told| (told.clue.text.as_str(), told.remaining)).collect();
    assert_eq!(
        told,
        [
            ("It inserts on the greater tubercle of the humerus.", 3),
            ("It rotates the arm laterally.", 2),
            ("It arises from the upper two thirds of the lateral border of the scapula.", 1),
            ("It is supplied by the axillary nerve.", 1),
        ]
    );
}

#[test]
fn the_tuberosity_that_names_the_deltoid_is_no_clue() {
    for course in COURSES.iter() {
        let deltoid = MuscleKey::new("deltoid");
        let Some(item) = course.item(&deltoid) else { continue };
        let tuberosity = "It inserts on the deltoid tuberosity of the humerus.";
        assert!(course.statements(&deltoid).iter().any(|clue| clue.text == tuberosity));
        assert!(item.clues.iter().all(|told| told.clue.text != tuberosity));
    }
}

/// Three actions settle it; then the whole origin, which tells most, and the nerve.
#[test]
fn a_settled_muscle_still_gets_its_attachments_and_nerve() {
    let catalogue = Catalogue::bundled();
    let list = catalogue.list(&ListKey::new("rotator-cuff")).unwrap();
    let course = Course::new(catalogue, list).unwrap();
    let clues = &course.item(&MuscleKey::new("deltoid")).unwrap().clues;
    let told: Vec<(ClueKind, usize)> =
        clues.iter().map(|told| (told.clue.kind, told.remaining)).collect();
    assert_eq!(
        told,
        [
            (ClueKind::Action, 4),
            (ClueKind::Action, 2),
            (ClueKind::Action, 1),
            (ClueKind::Origin, 1),
            (ClueKind::Nerve, 1),
        ]
    );
    assert_eq!(
        clues[3].clue.text,
        "It arises from the lateral third of the clavicle (anterior part), the acromion \
         (middle part) and the spine of the scapula (posterior part)."
    );
}

/// A full course also teaches what an introductory one does, and the finer places besides.
#[test]
fn a_full_course_says_more() {
    let texts = |level| -> BTreeSet<String> {
        let course = course_of(&["teres-minor", "teres-major"], level, &[]).unwrap();
        let said = course.statements(&MuscleKey::new("teres-minor"));
        said.into_iter().map(|clue| clue.text).collect()
    };
    let (brief, full) = (texts(Level::Introductory), texts(Level::Full));
    assert!(brief.is_subset(&full));
    for finer in [
        "It inserts on the inferior facet of the greater tubercle of the humerus.",
        "It helps to extend the arm.",
        "It is supplied from the spinal roots C5 and C6.",
    ] {
        assert!(full.contains(finer) && !brief.contains(finer), "{finer}");
    }
}

#[test]
fn a_list_that_cannot_be_asked_is_refused() {
    let refusal = |muscles: &[&str], level, hide: &[FactKind]| {
        course_of(muscles, level, hide).unwrap_err().to_string()
    };
    let both = ["rhomboid-major", "rhomboid-minor"];
    assert_eq!(
        refusal(&both, Level::Introductory, &[FactKind::Attachment]),
        "muscle list `made-for-a-test`: every clue for rhomboid major fits rhomboid minor too: \
         hide fewer kinds of fact, or leave one of them out"
    );
    assert_eq!(
        refusal(&[], Level::Full, &[]),
        "muscle list `made-for-a-test` has no muscles: add some"
    );
    assert_eq!(
        refusal(&["deltoid", "psoas-minor"], Level::Full, &[]),
        "muscle list `made-for-a-test`: muscle `psoas-minor` has no facts: \
         add them or leave it out"
    );
    let all = [FactKind::Action, FactKind::Attachment, FactKind::Innervation];
    assert_eq!(
        refusal(&["deltoid"], Level::Full, &all),
        "muscle list `made-for-a-test`: no clue can be given for deltoid: \
         hide fewer kinds of fact"
    );
}

#[test]
fn a_list_of_one_muscle_still_has_clues() {
    let course = course_of(&["deltoid"], Level::Introductory, &[]).unwrap();
    check_order(&course, &course.items()[0]);
}

#[test]
fn a_course_knows_all_names_of_the_catalogue() {
    let course = &COURSES[0];
    let name = |key| course.name_of(&MuscleKey::new(key));
    assert_eq!(name("psoas-minor").as_deref(), Some("psoas minor"));
    assert_eq!(name("no-such-muscle"), None);
    assert!(course.item(&MuscleKey::new("psoas-minor")).is_none());
    assert!(course.statements(&MuscleKey::new("psoas-minor")).is_empty());
}

fn some_muscles() -> impl Strategy<Value = Vec<&'static str>> {
    let all: Vec<&'static str> =
        Catalogue::bundled().muscles().map(|muscle| muscle.key.as_str()).collect();
    let count = all.len();
    subsequence(all, 1..=count)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, ..ProptestConfig::default() })]

    #[test]
    fn orders_hold_for_any_list(
        muscles in some_muscles(),
        full in any::<bool>(),
        hide in subsequence(vec![FactKind::Action, FactKind::Attachment, FactKind::Innervation], 0..=1),
    ) {
        let level = if full { Level::Full } else { Level::Introductory };
        match course_of(&muscles, level, &hide) {
            Ok(course) => course.items().iter().for_each(|item| check_order(&course, item)),
            Err(CourseError::Indistinct { .. }) => prop_assert!(!hide.is_empty()),
            Err(other) => prop_assert!(false, "{}", other),
        }
    }
}
