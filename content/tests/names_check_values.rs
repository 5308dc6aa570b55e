//! Edit distances and the acceptance of typed names against values from other programs:
//! `tests/reference/psychometrics/names-and-clues.json`, which names the source of each.

use std::collections::BTreeMap;

use myonym_content::catalogue::Catalogue;
use myonym_content::name::{NameIndex, Resolution};
use myonym_content::spelling::{closest, edits};
use serde_json::Value;

fn record(id: &str) -> Value {
    let text = include_str!("../../tests/reference/psychometrics/names-and-clues.json");
    let all: Value = serde_json::from_str(text).expect("JSON");
    let records = all["checks"].as_array().expect("an array");
    records.iter().find(|record| record["id"] == id).expect(id).clone()
}

fn texts(value: &Value) -> Vec<String> {
    serde_json::from_value(value.clone()).expect("texts")
}

/// `str.edit`: rapidfuzz and jellyfish, CA/ABC also R stringdist.
#[test]
fn distances_are_unrestricted_damerau_levenshtein() {
    let record = record("str.edit");
    let expected: Vec<usize> = serde_json::from_value(record["expected"]["dl"].clone()).unwrap();
    let pairs = record["inputs"].as_array().unwrap();
    assert_eq!(pairs.len(), expected.len());
    for (pair, expected) in pairs.iter().zip(expected) {
        let [a, b] = texts(pair).try_into().unwrap();
        assert_eq!(edits(&a, &b), expected, "{a} / {b}");
        assert_eq!(edits(&b, &a), expected, "{b} / {a}");
    }
}

/// `str.edit` again: without swaps, and with swaps of letters that are not touched otherwise. Ours is
/// at most as long as either.
#[test]
fn other_distances_agree() {
    let record = record("str.edit");
    let column = |key: &str| -> Vec<usize> {
        serde_json::from_value(record["expected"][key].clone()).unwrap()
    };
    let pairs = record["inputs"].as_array().unwrap();
    for ((pair, plain), restricted) in pairs.iter().zip(column("lev")).zip(column("osa")) {
        let [a, b] = texts(pair).try_into().unwrap();
        let found = (strsim::levenshtein(&a, &b), strsim::osa_distance(&a, &b));
        assert_eq!(found, (plain, restricted), "{a} / {b}");
        assert!(edits(&a, &b) <= restricted && restricted <= plain, "{a} / {b}");
    }
}

/// `str.osa.triangle`: the restricted distance breaks the triangle inequality, ours keeps it.
#[test]
fn distances_keep_the_triangle_inequality() {
    let record = record("str.osa.triangle");
    let [a, b, c] = texts(&record["inputs"]).try_into().unwrap();
    let found = [edits(&a, &b), edits(&b, &c), edits(&a, &c)];
    assert_eq!(serde_json::to_value(found).unwrap(), record["expected"]["dl"]);
    assert!(found[2] <= found[0] + found[1]);
    let osa = strsim::osa_distance;
    let restricted = [osa(&a, &b), osa(&b, &c), osa(&a, &c)];
    assert_eq!(serde_json::to_value(restricted).unwrap(), record["expected"]["osa"]);
    assert!(restricted[2] > restricted[0] + restricted[1]);
}

/// `str.jw`: the likeness of Jaro and Winkler, printed and computed. The program does not use it: the
/// next test says why.
#[test]
fn likeness_of_jaro_and_winkler_agrees() {
    let record = record("str.jw");
    let column = |key: &str| -> Vec<f64> {
        serde_json::from_value(record["expected"][key].clone()).unwrap()
    };
    let published: Vec<[f64; 2]> =
        serde_json::from_value(record["expected"]["published"].clone()).unwrap();
    let pairs = record["inputs"].as_array().unwrap();
    assert_eq!(pairs.len(), published.len());
    let wanted = column("jaro").into_iter().zip(column("jw")).zip(published);
    for (pair, ((jaro, winkler), published)) in pairs.iter().zip(wanted) {
        let [a, b] = texts(pair).try_into().unwrap();
        let found = [strsim::jaro(&a, &b), strsim::jaro_winkler(&a, &b)];
        for (found, (want, printed)) in
            found.into_iter().zip([jaro, winkler].into_iter().zip(published))
        {
            assert!((found - want).abs() < 1e-9, "{a} / {b}: {found}");
            assert!((found - printed).abs() < 6e-4, "{a} / {b}: {found}");
        }
    }
}

/// `str.jw.libs`: the likeness calls opposites all but the same, where one letter makes another
/// muscle; ours takes neither for the other. Below 0.7 the plain formula and the libraries part.
#[test]
fn likeness_would_accept_the_opposite_muscle() {
    let record = record("str.jw.libs");
    let column = |key: &str| -> Vec<f64> {
        serde_json::from_value(record["expected"][key].clone()).unwrap()
    };
    let pairs = record["inputs"].as_array().unwrap();
    let (jaro, library) = (column("jaro"), column("rapidfuzz"));
    assert_eq!(library, column("jellyfish"));
    let plain = column("plain_formula_no_threshold");
    for (at, pair) in pairs.iter().enumerate() {
        let [a, b] = texts(pair).try_into().unwrap();
        let found = strsim::jaro(&a, &b);
        let shared = a.chars().zip(b.chars()).take(4).take_while(|(a, b)| a == b).count();
        let raised = found + 0.1 * f64::from(u8::try_from(shared).unwrap()) * (1.0 - found);
        let winkler = strsim::jaro_winkler(&a, &b);
        for (found, want) in [(found, jaro[at]), (winkler, library[at]), (raised, plain[at])] {
            assert!((found - want).abs() < 1e-9, "{a} / {b}: {found}, expected {want}");
        }
    }
    let index = NameIndex::of(Catalogue::bundled());
    for pair in &pairs[1..3] {
        let [a, b] = texts(pair).try_into().unwrap();
        assert!(strsim::jaro_winkler(&a, &b) > 0.9);
        let owner = |name: &str| {
            let Resolution::Exact { muscle } = index.resolve(name) else { panic!("{name}") };
            muscle.to_string()
        };
        assert_ne!(owner(&a), owner(&b));
    }
}

/// `str.accept`: nearest neighbour with a reject option over a dictionary of twelve names.
#[test]
fn nearest_name_is_accepted_doubted_or_rejected() {
    let record = record("str.accept");
    let dictionary = texts(&record["inputs"]["dictionary"]);
    for expected in record["expected"].as_array().unwrap() {
        let query = expected["query"].as_str().unwrap();
        let mut distances: Vec<usize> = dictionary.iter().map(|name| edits(query, name)).collect();
        distances.sort_unstable();
        assert_eq!(expected["d1"], distances[0], "{query}");
        assert_eq!(expected["d2"], distances[1], "{query}");
        let found = closest(query, dictionary.iter().map(|name| (name, name.as_str())));
        let verdict = match &found {
            None => "reject",
            Some(closest) if closest.owners.len() == 1 => "accept",
            Some(_) => "ambiguous",
        };
        assert_eq!(expected["verdict"], verdict, "{query}");
        if let Some(found) = found {
            assert_eq!(expected["d1"], found.distance, "{query}");
            let nearest = expected["nearest"].as_str().unwrap();
            assert!(found.owners.iter().any(|owner| *owner == nearest), "{query}");
        }
    }
}

/// `str.accept` again, by the index of all muscles: what the dictionary accepts or doubts, it
/// accepts or doubts too. (`gluteus` and `deltoid` are rejected only because the dictionary lacks
/// half names and the deltoid.)
#[test]
fn the_whole_index_agrees() {
    let index = NameIndex::of(Catalogue::bundled());
    for expected in record("str.accept")["expected"].as_array().unwrap() {
        let query = expected["query"].as_str().unwrap();
        let nearest = expected["nearest"].as_str().unwrap().replace(' ', "-");
        match (expected["verdict"].as_str().unwrap(), index.resolve(query)) {
            ("accept", Resolution::Exact { muscle } | Resolution::Misspelt { muscle, .. }) => {
                assert_eq!(muscle.as_str(), nearest, "{query}");
            }
            ("ambiguous", Resolution::WhichOne { among }) => {
                assert!(among.iter().any(|key| key.as_str() == nearest), "{query}");
            }
            ("reject", _) => {}
            (verdict, found) => panic!("{query}: {verdict}, found {found:?}"),
        }
    }
}

/// `str.radius`: slips that every name of the dictionary can bear before another may be as near
/// (Hamming 1950). For five of them it is less than the budget, so ties must be asked about.
#[test]
fn radius_of_each_name() {
    let record = record("str.radius");
    let dictionary = texts(&record["inputs"]["dictionary"]);
    let expected: BTreeMap<String, Value> =
        serde_json::from_value(record["expected"].clone()).unwrap();
    for name in &dictionary {
        let others = dictionary.iter().filter(|other| *other != name);
        let least = others.map(|other| edits(name, other)).min().unwrap();
        assert_eq!(expected[name]["dmin"], least, "{name}");
        assert_eq!(expected[name]["radius"], (least - 1) / 2, "{name}");
    }
}
