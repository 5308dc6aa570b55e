//! Nearness against what instructors know of confusions ('common practice, no source'): muscles
//! with one noun, neighbours with one insertion and partners in one movement are mixed up often;
//! muscles that share no more than a region, seldom.

use std::sync::LazyLock;

use myonym_content::catalogue::Catalogue;
use myonym_content::course::Course;
use myonym_content::model::{ListKey, Muscle, MuscleKey};
use myonym_content::near::{NearKind, Nearness, nearness};
use proptest::prelude::*;
use proptest::sample::Index;

static MUSCLES: LazyLock<Vec<&Muscle>> = LazyLock::new(|| Catalogue::bundled().muscles().collect());

fn of(a: &str, b: &str) -> Nearness {
    let muscle = |key| Catalogue::bundled().muscle(&MuscleKey::new(key)).expect(key);
    nearness(&Catalogue::bundled().vocabulary, muscle(a), muscle(b))
}

#[test]
fn classic_confusions_are_near() {
    let check = |a: &str, b: &str| {
        let value = of(a, b).value();
        assert!(value >= 0.5, "{a} / {b}: {value}");
    };
    check("teres-major", "teres-minor");
    check("infraspinatus", "teres-minor");
    check("supraspinatus", "infraspinatus");
    check("rhomboid-major", "rhomboid-minor");
}

#[test]
fn nearer_and_farther() {
    let check = |pair: (&str, &str), than: (&str, &str)| {
        let (near, far) = (of(pair.0, pair.1).value(), of(than.0, than.1).value());
        assert!(near > far + 0.1, "{pair:?} {near}, {than:?} {far}");
    };
    check(("teres-minor", "teres-major"), ("teres-minor", "deltoid"));
    check(("teres-minor", "infraspinatus"), ("teres-minor", "subscapularis"));
    check(("latissimus-dorsi", "teres-major"), ("latissimus-dorsi", "infraspinatus"));
    check(("rhomboid-major", "levator-scapulae"), ("rhomboid-major", "serratus-anterior"));
    check(("coracobrachialis", "biceps-brachii"), ("coracobrachialis", "trapezius"));
    check(("pectoralis-major", "pectoralis-minor"), ("pectoralis-major", "levator-scapulae"));
}

#[test]
fn an_opposite_counts_against() {
    let movement = |a: &str, b: &str| {
        let terms = of(a, b).terms;
        terms.into_iter().find(|term| term.kind == NearKind::Movement).unwrap()
    };
    let opposed = movement("subscapularis", "infraspinatus");
    assert!(opposed.similarity < 0.0, "{opposed:?}");
    assert!(opposed.why.contains("lateral rotation against medial rotation"), "{opposed:?}");
    let same = movement("infraspinatus", "teres-minor");
    assert!(same.similarity > 0.5 && same.why.contains("lateral rotation"), "{same:?}");
}

#[test]
fn reasons_name_what_is_shared() {
    let check = |a: &str, b: &str, kind: NearKind, expected: &str| {
        let terms = of(a, b).terms;
        let term = terms.iter().find(|term| term.kind == kind).unwrap();
        assert_eq!(term.why, expected, "{a} / {b}");
    };
    check("teres-minor", "infraspinatus", NearKind::Insertion, "greater tubercle of the humerus");
    check("teres-minor", "teres-major", NearKind::Insertion, "humerus");
    check("teres-minor", "teres-major", NearKind::Name, "teres");
    check("teres-minor", "deltoid", NearKind::Nerve, "axillary nerve");
    check("teres-minor", "deltoid", NearKind::Name, "");
}

/// No facts, no credit: nothing is known of such a muscle but its name.
#[test]
fn a_muscle_without_facts_is_not_near() {
    let catalogue = Catalogue::bundled();
    let list = catalogue.list(&ListKey::new("shoulder")).unwrap();
    let course = Course::new(catalogue, list).unwrap();
    let near = |a: &str, b: &str| course.nearness(&MuscleKey::new(a), &MuscleKey::new(b));
    assert!(near("teres-minor", "psoas-minor") == 0.0);
    assert!(near("psoas-minor", "psoas-minor") == 0.0);
    assert!(near("teres-minor", "no-such-muscle") == 0.0);
    assert!((near("teres-minor", "teres-major") - of("teres-minor", "teres-major").value()) == 0.0);
}

proptest! {
    #[test]
    fn symmetric_and_one_only_for_itself(a in any::<Index>(), b in any::<Index>()) {
        let (a, b) = (*a.get(&MUSCLES), *b.get(&MUSCLES));
        let v = &Catalogue::bundled().vocabulary;
        let there = nearness(v, a, b);
        let weights: f64 = there.terms.iter().map(|term| term.weight).sum();
        prop_assert!((weights - 1.0).abs() < 1e-12);
        prop_assert!(there.terms.iter().all(|term| (-1.0..=1.0).contains(&term.similarity)));
        let value = there.value();
        if a.key == b.key {
            prop_assert!((value - 1.0).abs() < 1e-12);
        } else {
            prop_assert!((0.0..1.0).contains(&value));
        }
        prop_assert_eq!(there, nearness(v, b, a));
    }
}
