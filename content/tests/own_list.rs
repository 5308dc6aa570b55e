//! Instructors' own lists, as they would type them.

#![expect(clippy::unwrap_used, reason = "a broken test may break")]

use myonym_content::problem::SourceFile;
use myonym_content::{Catalogue, Course, MuscleKey, OwnList, Resolution};

fn read(text: &str) -> Result<OwnList, String> {
    let file = SourceFile { path: "practical.txt".to_owned(), text: text.to_owned() };
    OwnList::read(&file, Catalogue::bundled())
        .map_err(|problems| problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))
}

fn course(text: &str) -> Course {
    Course::of_own(Catalogue::bundled(), &read(text).unwrap()).unwrap()
}

fn key(name: &str) -> MuscleKey {
    MuscleKey::new(name)
}

/// Sloppy, Latin and short forms as an instructor may type them: common practice, no source.
#[test]
fn names_in_any_accepted_form_are_found() {
    let list = read(
        "# Week 5\nname: Shoulder practical\nlevel: full\nhide: innervation\n\n\
         Teres Minor   # the small one\nM. teres major\nlats\nsupraspinatous\nMusculus deltoideus\n\
         minor rhomboid\nsub scapularis\n",
    )
    .unwrap()
    .list;
    let found: Vec<&str> = list.muscles.iter().map(MuscleKey::as_str).collect();
    let expected = [
        "teres-minor",
        "teres-major",
        "latissimus-dorsi",
        "supraspinatus",
        "deltoid",
        "rhomboid-minor",
        "subscapularis",
    ];
    assert_eq!(found, expected);
    assert_eq!(
        (list.key.as_str(), list.name.as_str()),
        ("own-shoulder-practical", "Shoulder practical")
    );
}

#[test]
fn every_fault_is_told_with_line_and_nearest() {
    let check = |text: &str, expected: &str| assert_eq!(read(text).unwrap_err(), expected);
    check("", "practical.txt:1:1: the list names no muscle");
    check(
        "levle: full\nteres\nteres minor\n  orign: x\nterres mimor\nt. minor\nhide: nerve\nzzz\n",
        "practical.txt:1:1: unknown setting `levle`: write name, level, hide, prefer; nearest: `level`\n\
         practical.txt:2:1: `teres` fits several muscles: teres major, teres minor\n\
         practical.txt:4:3: unknown word `orign`: write also, origin, insertion, action, nerve; nearest: `origin`\n\
         practical.txt:5:1: `terres mimor` is already on line 3\n\
         practical.txt:6:1: `t. minor` is already on line 3\n\
         practical.txt:7:1: settings stand before the first muscle; set a muscle's own lines in\n\
         practical.txt:8:1: no muscle is called `zzz`",
    );
    check(
        "  also: x\nteres minor\n  also: teres major, ?\n  origin: somewhere\n",
        "practical.txt:1:3: this line is set in, but no muscle stands above it\n\
         practical.txt:3:3: `teres major` already means teres major\n\
         practical.txt:3:3: `?` is no name\n\
         practical.txt:4:3: write the course's wording and its source: `origin: ribs 2-5 [course handbook]`",
    );
}

#[test]
fn a_course_may_add_names() {
    let course = course("teres minor\n  also: little round muscle\nteres major\n");
    let exact = Resolution::Exact { muscle: key("teres-minor") };
    assert_eq!(course.resolve("Little Round"), exact);
    assert_eq!(course.resolve("little round muscle"), exact);
    let bundled = Catalogue::bundled();
    let plain =
        Course::new(bundled, bundled.list(&myonym_content::ListKey::new("shoulder")).unwrap());
    assert_ne!(plain.unwrap().resolve("little round muscle"), exact);
}

#[test]
fn a_course_may_put_a_fact_in_its_own_words() {
    let text = "pectoralis minor\n  origin: ribs 2-5 [course handbook, p. 4]\nserratus anterior\n";
    let course = course(text);
    let said: Vec<String> =
        course.statements(&key("pectoralis-minor")).into_iter().map(|clue| clue.text).collect();
    assert!(said.contains(&"It arises from ribs 2-5.".to_owned()), "{said:?}");
    assert!(!said.iter().any(|text| text.contains("ribs 3-5")), "{said:?}");
    let contrast = course.contrast(&key("serratus-anterior"), &key("pectoralis-minor")).unwrap();
    let origin = contrast.apart.iter().find(|difference| difference.aspect == "origin").unwrap();
    assert_eq!(origin.second, "ribs 2-5");
}

/// Gray 1918, p. 442, gives teres minor the root C5 alone (tests/reference/anatomy); C5 and C6 are
/// common practice, no source. A preferred source decides which form is told.
#[test]
fn a_preferred_source_is_told_where_sources_differ() {
    let roots = |text: &str| -> Vec<String> {
        let course = course(text);
        let said = course.statements(&key("teres-minor"));
        said.into_iter()
            .filter(|clue| clue.kind.as_str() == "roots")
            .map(|clue| clue.text)
            .collect()
    };
    let list = "level: full\nteres minor\nteres major\n";
    let usual = roots(list);
    let gray = roots(&format!("prefer: gray1918\n{list}"));
    assert_eq!(usual, ["It is supplied from the spinal roots C5 and C6."]);
    assert_eq!(gray, ["It is supplied from the spinal root C5."]);
}
