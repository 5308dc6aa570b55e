//! Contrasts: what tells two muscles apart. Which difference is the most telling is common
//! practice (no source); the facts are those of the data files, with their sources there.

use std::sync::LazyLock;

use myonym_content::catalogue::Catalogue;
use myonym_content::contrast::{Contrast, Difference, contrast};
use myonym_content::course::Course;
use myonym_content::list::{FactKind, MuscleList};
use myonym_content::model::{Level, ListKey, MuscleKey};
use proptest::prelude::*;
use proptest::sample::Index;
use serde_json::Value;

static COURSES: LazyLock<Vec<Course>> = LazyLock::new(|| {
    let catalogue = Catalogue::bundled();
    catalogue
        .lists()
        .map(|list| Course::new(catalogue, list).expect("bundled lists are sound"))
        .collect()
});

fn of(level: Level, a: &str, b: &str) -> Contrast {
    let muscle = |key| Catalogue::bundled().muscle(&MuscleKey::new(key)).expect(key);
    contrast(&Catalogue::bundled().vocabulary, level, muscle(a), muscle(b))
}

#[test]
fn the_most_telling_difference_comes_first() {
    let check = |a: &str, b: &str, aspect: &str, first: &str, second: &str| {
        let found = of(Level::Introductory, a, b).apart.into_iter().next().unwrap();
        let expected = Difference {
            aspect: aspect.to_owned(),
            first: first.to_owned(),
            second: second.to_owned(),
        };
        assert_eq!(found, expected, "{a} / {b}");
    };
    check(
        "teres-minor",
        "teres-major",
        "action",
        "rotates the arm laterally",
        "rotates the arm medially",
    );
    check(
        "subscapularis",
        "infraspinatus",
        "action",
        "rotates the arm medially",
        "rotates the arm laterally",
    );
    check(
        "biceps-brachii",
        "triceps-brachii",
        "action",
        "flexes the forearm",
        "extends the forearm",
    );
    check(
        "supraspinatus",
        "infraspinatus",
        "action",
        "abducts the arm",
        "rotates the arm laterally",
    );
    // Both rotate the scapula downwards: that goes without saying.
    check(
        "levator-scapulae",
        "rhomboid-major",
        "action",
        "elevates the scapula",
        "retracts the scapula",
    );
    // Nothing would be left of subscapularis: both sides stand whole.
    check(
        "teres-major",
        "subscapularis",
        "action",
        "extends the arm, adducts it and rotates it medially",
        "rotates the arm medially",
    );
    check(
        "rhomboid-major",
        "rhomboid-minor",
        "origin",
        "the spinous processes of T2-T5",
        "the spinous processes of C7-T1",
    );
}

/// Obturator internus and the gemelli end in one tendon and act alike, so that they are told apart by
/// where they arise. Origins: `OpenStax` Anatomy and Physiology 2e, section 11.6 (the reference file);
/// that internus comes from within the pelvis, superior gemellus from the spine and inferior gemellus
/// from the tuberosity of the ischium also Gray 1918, from memory.
#[test]
fn the_gemelli_and_obturator_internus_are_told_apart_by_their_origins() {
    let text = include_str!("../../tests/reference/anatomy/openstax-ap2e-course.json");
    let reference: Value = serde_json::from_str(text).unwrap();
    let three = ["obturator-internus", "superior-gemellus", "inferior-gemellus"];
    // What the source calls the inner surface has the name of internal surface here.
    let ours = |muscle: &str| -> String {
        let origin = reference["muscles"][muscle]["origin"].as_str().unwrap().to_lowercase();
        origin
            .split(';')
            .next()
            .unwrap()
            .replace("inner", "internal")
            .replace("surface of", "surface of the")
    };
    for level in [Level::Introductory, Level::Full] {
        for (a, b) in three.iter().flat_map(|a| three.iter().map(move |b| (*a, *b))) {
            if a == b {
                continue;
            }
            let found = of(level, a, b).apart.into_iter().next().unwrap();
            assert_eq!(found.aspect, "origin", "{level:?} {a} / {b}: {found:?}");
            assert!(found.first.contains(&ours(a)), "{}: {}", ours(a), found.first);
            assert!(found.second.contains(&ours(b)), "{}: {}", ours(b), found.second);
            assert!(!found.first.contains(&ours(b)) && !found.second.contains(&ours(a)));
        }
    }
}

#[test]
fn aspects_in_their_order() {
    let aspects = |level, a, b| -> Vec<String> {
        of(level, a, b).apart.into_iter().map(|difference| difference.aspect).collect()
    };
    assert_eq!(
        aspects(Level::Full, "teres-minor", "teres-major"),
        ["action", "action", "insertion", "origin", "nerve", "group"]
    );
    assert_eq!(aspects(Level::Full, "rhomboid-major", "rhomboid-minor"), ["insertion", "origin"]);
}

#[test]
fn shared_facts_are_told_once_and_most_closely() {
    let shared = of(Level::Introductory, "teres-minor", "infraspinatus").shared;
    assert_eq!(shared[0], "It rotates the arm laterally.");
    assert!(shared.iter().any(|text| text == "It inserts on the greater tubercle of the humerus."));
    assert!(!shared.iter().any(|text| text == "It inserts on the humerus."), "{shared:?}");
}

#[test]
fn hidden_facts_stay_hidden() {
    let catalogue = Catalogue::bundled();
    let list = MuscleList {
        hide: vec![FactKind::Innervation],
        ..catalogue.list(&ListKey::new("shoulder-full")).unwrap().clone()
    };
    let course = Course::new(catalogue, &list).unwrap();
    let [a, b] = ["teres-minor", "teres-major"].map(MuscleKey::new);
    let apart = course.contrast(&a, &b).unwrap().apart;
    assert!(apart.iter().all(|difference| difference.aspect != "nerve"), "{apart:?}");
    assert_eq!(course.contrast(&a, &MuscleKey::new("psoas-minor")), None);
}

#[test]
fn every_two_muscles_of_a_list_differ() {
    for course in COURSES.iter() {
        for a in course.items() {
            for b in course.items().iter().filter(|b| b.muscle != a.muscle) {
                let apart = course.contrast(&a.muscle, &b.muscle).unwrap().apart;
                assert!(!apart.is_empty(), "{}: {} / {}", course.list().key, a.name, b.name);
                assert!(apart.iter().all(|difference| difference.first != difference.second));
            }
        }
    }
}

/// Pairs are kept once they were set side by side, and the kept ones begin anew now and then.
#[test]
fn what_was_set_side_by_side_before_is_the_same_again() {
    let catalogue = Catalogue::bundled();
    let full = catalogue.list(&ListKey::new("full")).unwrap();
    let [kept, fresh] = [0, 1].map(|_| Course::new(catalogue, full).unwrap());
    let keys: Vec<_> = kept.items().iter().map(|item| &item.muscle).collect();
    let pairs = || keys.iter().take(3).flat_map(|a| keys.iter().map(move |b| (*a, *b)));
    assert!(pairs().count() > 256);
    let first: Vec<_> = pairs().map(|(a, b)| kept.contrast(a, b)).collect();
    for ((a, b), first) in pairs().zip(first) {
        assert_eq!(kept.contrast(a, b), first);
        assert_eq!(fresh.contrast(a, b), first);
    }
}

proptest! {
    #[test]
    fn exchanged_muscles_exchange_sides(list in any::<Index>(), a in any::<Index>(), b in any::<Index>()) {
        let course = list.get(&COURSES);
        let (a, b) = (a.get(course.items()), b.get(course.items()));
        let there = course.contrast(&a.muscle, &b.muscle).unwrap();
        let back = course.contrast(&b.muscle, &a.muscle).unwrap();
        prop_assert_eq!(there.shared, back.shared);
        let exchanged: Vec<Difference> = back
            .apart
            .into_iter()
            .map(|Difference { aspect, first, second }| Difference { aspect, first: second, second: first })
            .collect();
        prop_assert_eq!(there.apart, exchanged);
    }
}
