//! `DISAGREEMENTS.md` lists the variants of the data files. Run with `UPDATE_DISAGREEMENTS=1` to
//! write that part anew.

use std::path::Path;

use myonym_content::catalogue::Catalogue;
use myonym_content::model::{Attachment, End, Innervation, Muscle, SourceKey};
use myonym_content::words::attachment_phrase;

const BEGIN: &str = "<!-- from the variants: begin -->\n";
const END: &str = "<!-- from the variants: end -->\n";

#[test]
fn committed_table_is_that_of_the_variants() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("DISAGREEMENTS.md");
    let committed = std::fs::read_to_string(&path).unwrap();
    let (before, rest) = committed.split_once(BEGIN).expect("the mark of its begin");
    let (table, after) = rest.split_once(END).expect("the mark of its end");
    let expected = expected_table();
    if std::env::var_os("UPDATE_DISAGREEMENTS").is_some() {
        let anew = [before, BEGIN, &expected, END, after].concat();
        std::fs::write(&path, anew).unwrap();
    } else {
        assert!(
            table == expected,
            "content/DISAGREEMENTS.md is out of date: run this test with UPDATE_DISAGREEMENTS=1"
        );
    }
}

/// Every variant of every muscle, and nothing else, has a row.
#[test]
fn every_variant_has_a_row() {
    let attachments =
        Catalogue::bundled().muscles().flat_map(|m| m.origins.iter().chain(&m.insertions));
    let attachments: usize = attachments.map(|attachment| attachment.variants.len()).sum();
    let supplies = Catalogue::bundled().muscles().flat_map(|muscle| &muscle.innervation);
    let roots: usize = supplies.map(|supply| supply.variants.len()).sum();
    assert_eq!(expected_table().lines().count(), 2 + attachments + roots);
}

fn expected_table() -> String {
    let mut table = String::new();
    table += "| Muscle | Fact | One form | Its sources | Another | Its sources |\n";
    table += "| --- | --- | --- | --- | --- | --- |\n";
    for muscle in Catalogue::bundled().muscles() {
        for (end, fact) in [(End::Origin, "origin"), (End::Insertion, "insertion")] {
            for attachment in muscle.attachments(end) {
                attachment_rows(&mut table, muscle, fact, attachment);
            }
        }
        for supply in &muscle.innervation {
            roots_rows(&mut table, muscle, supply);
        }
    }
    table
}

fn attachment_rows(table: &mut String, muscle: &Muscle, fact: &str, main: &Attachment) {
    let vocabulary = &Catalogue::bundled().vocabulary;
    for variant in &main.variants {
        let other = Attachment {
            landmark: variant.landmark.clone(),
            span: variant.span.clone(),
            portion: main.portion.clone().filter(|_| variant.landmark == main.landmark),
            ..main.clone()
        };
        let forms = [main, &other].map(|form| attachment_phrase(vocabulary, form));
        row(table, muscle, fact, &forms, [&main.sources, &variant.sources]);
    }
}

fn roots_rows(table: &mut String, muscle: &Muscle, main: &Innervation) {
    let vocabulary = &Catalogue::bundled().vocabulary;
    let nerve = &vocabulary.nerves[&main.nerve].name;
    for variant in &main.variants {
        let forms = [&main.roots, &variant.roots].map(|roots| roots.join(", "));
        let fact = format!("roots of the {nerve}");
        row(table, muscle, &fact, &forms, [&of_roots(&main.sources), &of_roots(&variant.sources)]);
    }
}

/// Uberon names nerves, but never their roots.
fn of_roots(sources: &[SourceKey]) -> Vec<SourceKey> {
    sources.iter().filter(|source| source.as_str() != "uberon").cloned().collect()
}

fn row(
    table: &mut String,
    muscle: &Muscle,
    fact: &str,
    [one, other]: &[String; 2],
    sources: [&Vec<SourceKey>; 2],
) {
    let [own, others] = sources.map(|sources| {
        let sources: Vec<String> = sources.iter().map(|source| format!("`{source}`")).collect();
        sources.join(", ")
    });
    let name = &muscle.name;
    let cells = [name, fact, one, &own, other, &others].join(" | ");
    table.extend(["| ", &cells, " |\n"]);
}
