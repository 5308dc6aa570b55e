//! Muscles by the names that a textbook prints.

use std::path::Path;

use myonym_content::catalogue::Catalogue;
use myonym_content::name::{NameIndex, Resolution};

/// Every muscle that chapter 11 of the `OpenStax` book names, with or without facts here.
#[test]
fn every_muscle_of_the_book_is_known() {
    let index = NameIndex::of(Catalogue::bundled());
    let path = "../tests/reference/anatomy/openstax-ap2e-names.json";
    let text = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).unwrap();
    let book: serde_json::Value = serde_json::from_str(&text).unwrap();
    let names = book["names"].as_array().unwrap();
    assert_eq!(names.len(), 171);
    let resolved = names.iter().map(|name| (name, index.resolve(name.as_str().unwrap())));
    let unknown: Vec<_> =
        resolved.filter(|(_, found)| !matches!(found, Resolution::Exact { .. })).collect();
    assert!(unknown.is_empty(), "{unknown:#?}");
}
