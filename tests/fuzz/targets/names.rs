//! Any text as the name of a muscle or a movement: the same answer twice, and never many to choose
//! from.
#![no_main]

use std::sync::LazyLock;

use libfuzzer_sys::fuzz_target;
use myonym_content::{Catalogue, Course, MovementResolution, Resolution};

/// The longest bundled list.
static COURSE: LazyLock<Course> = LazyLock::new(|| {
    let catalogue = Catalogue::bundled();
    let longest = catalogue.lists().max_by_key(|list| list.muscles.len()).expect("a list");
    Course::new(catalogue, longest).expect("a bundled list can be played")
});

fuzz_target!(|typed: &str| {
    // More is refused before it comes here.
    if typed.chars().count() > myonym_wire::limits::ANSWER_CHARS {
        return;
    }
    let muscles = Catalogue::bundled().muscles().count();
    let found = COURSE.resolve(typed);
    assert_eq!(found, COURSE.resolve(typed));
    match found {
        Resolution::WhichOne { among } => assert!((2..=muscles).contains(&among.len())),
        Resolution::Unknown { nearest } => assert!(nearest.len() <= 3),
        Resolution::Misspelt { distance, .. } => assert!(distance > 0),
        Resolution::Exact { .. } | Resolution::Empty => {}
    }
    let found = COURSE.resolve_movement(typed);
    assert_eq!(found, COURSE.resolve_movement(typed));
    match found {
        MovementResolution::WhichOne { among } => assert!(among.len() >= 2),
        MovementResolution::Unknown { nearest } => assert!(nearest.len() <= 3),
        _ => {}
    }
});
