//! The check of data files: each file of `broken/` is wrong in many ways, and all are told at once.

use std::path::Path;

use myonym_content::catalogue::{Catalogue, bundled_files};
use myonym_content::check::check;
use myonym_content::problem::{Problem, SourceFile};

#[test]
fn every_problem_of_a_broken_file_is_told() {
    for file in broken_files() {
        let name = file.path.trim_end_matches(".toml").to_owned();
        // Where the bundled content has its entries is no concern of this test.
        insta::with_settings!({filters => vec![(r"(content/\S+\.toml):\d+:\d+", "$1:_")]}, {
            insta::assert_snapshot!(name, lines(&check(&[file])));
        });
    }
}

#[test]
fn a_file_that_cannot_be_read_hides_no_other() {
    let wrong_key = r#"bone.talus = { name = "talus" }"#;
    let problems = check(&[broken("syntax.toml"), source("b.toml", wrong_key)]);
    let told = |part: &str| problems.iter().any(|problem| problem.to_string().contains(part));
    assert!(told("syntax.toml:4:13: TOML syntax"), "{}", lines(&problems));
    assert!(told("b.toml:1:14: missing field `latin`"), "{}", lines(&problems));
}

#[test]
fn an_own_file_may_use_the_bundled_words_and_add_to_them() {
    let own = r#"
        [[muscle]]
        key = "brachialis"
        name = "brachialis"
        latin = "musculus brachialis"
        region = "arm-and-forearm"
        origin = [{ at = "anterior-surface-of-humerus", sources = ["trade"] }]
        insertion = [{ at = "coronoid-process", sources = ["trade"] }]
        action = [{ joint = "elbow", movement = "flexion", sources = ["trade"] }]
        nerve = [{ nerve = "musculocutaneous", roots = ["C5", "C6"], sources = ["trade"] }]

        [landmark]
        anterior-surface-of-humerus = { name = "anterior surface of the shaft", bone = "humerus" }
        coronoid-process = { name = "coronoid process", bone = "ulna" }

        [[list]]
        key = "elbow-flexors"
        name = "flexors of the elbow"
        muscles = ["biceps-brachii", "brachialis"]
    "#;
    let files = [source("own.toml", own)];
    assert_eq!(lines(&check(&files)), "");
    let catalogue = Catalogue::with_bundled(&files).unwrap();
    assert_eq!(catalogue.lists().count(), Catalogue::bundled().lists().count() + 1);
    // Its facts are in, so it is no longer known by name only.
    assert!(catalogue.others().all(|other| other.key.as_str() != "brachialis"));
}

#[test]
fn an_edited_copy_takes_the_place_of_the_bundled_file() {
    let mut file = bundled_files().into_iter().find(|file| file.path.contains("/lists/")).unwrap();
    file.path = format!("/home/me/{}", file.path);
    assert_eq!(lines(&check(&[file.clone()])), "");
    file.path = "copy-under-another-name.toml".to_owned();
    assert!(lines(&check(&[file])).contains("list `shoulder` is already at content/lists/"));
}

#[test]
fn problems_come_by_file_line_and_column() {
    let problems = check(&broken_files());
    assert!(problems.len() > 50);
    let places: Vec<_> = problems.iter().map(|p| (&p.file, p.line, p.column)).collect();
    assert!(places.is_sorted());
}

fn lines(problems: &[Problem]) -> String {
    problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}

fn source(path: &str, text: &str) -> SourceFile {
    SourceFile { path: path.to_owned(), text: text.to_owned() }
}

fn broken(name: &str) -> SourceFile {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/broken").join(name);
    source(name, &std::fs::read_to_string(path).expect("a file of the folder"))
}

fn broken_files() -> Vec<SourceFile> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/broken");
    let entries = std::fs::read_dir(folder).expect("a folder");
    let names = entries.map(|entry| entry.expect("an entry").file_name());
    let mut names: Vec<_> = names.map(|name| name.to_string_lossy().into_owned()).collect();
    names.sort();
    names.iter().map(|name| broken(name)).collect()
}
