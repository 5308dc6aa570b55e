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
        key = "psoas-minor"
        name = "psoas minor"
        latin = "musculus psoas minor"
        region = "hip-and-gluteal"
        origin = [{ at = "bodies-of-vertebrae", span = "T12-L1", sources = ["trade"] }]
        insertion = [{ at = "iliopubic-eminence", sources = ["trade"] }]
        action = [{ joint = "lumbar-spine", movement = "flexion", role = "assists", sources = ["trade"] }]
        nerve = [{ nerve = "lumbar-anterior-rami", roots = ["L1"], sources = ["trade"] }]

        [landmark]
        iliopubic-eminence = { name = "iliopubic eminence", bone = "hip-bone", stands_alone = true }

        [[list]]
        key = "psoas"
        name = "both psoas muscles"
        muscles = ["psoas-major", "psoas-minor"]
    "#;
    let files = [source("own.toml", own)];
    assert_eq!(lines(&check(&files)), "");
    let catalogue = Catalogue::with_bundled(&files).unwrap();
    assert_eq!(catalogue.lists().count(), Catalogue::bundled().lists().count() + 1);
    // Its facts are in, so it is no longer known by name only.
    let by_name_only = |catalogue: &Catalogue| catalogue.others().count();
    assert_eq!(by_name_only(&catalogue), by_name_only(Catalogue::bundled()) - 1);
    assert!(catalogue.others().all(|other| other.key.as_str() != "psoas-minor"));
}

#[test]
fn an_edited_copy_takes_the_place_of_the_bundled_file() {
    let mut file = bundled_files()
        .into_iter()
        .find(|file| file.path.ends_with("lists/shoulder.toml"))
        .unwrap();
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
