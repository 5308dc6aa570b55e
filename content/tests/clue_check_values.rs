//! Entropy, gain and the order of clues against `tests/reference/psychometrics/names-and-clues.json`,
//! which names the source of each value.

use std::collections::{BTreeMap, BTreeSet};

use myonym_content::order::{entropy, gain, order, realised_bits};
use serde_json::Value;

fn record(id: &str) -> Value {
    let text = include_str!("../../tests/reference/psychometrics/names-and-clues.json");
    let all: Value = serde_json::from_str(text).expect("JSON");
    let records = all["checks"].as_array().expect("an array");
    records.iter().find(|record| record["id"] == id).expect(id).clone()
}

fn close(found: f64, expected: f64, tolerance: f64, what: &str) {
    assert!((found - expected).abs() <= tolerance, "{what}: {found}, expected {expected}");
}

/// `ig.quinlan`: Quinlan 1986, Machine Learning 1:81-106.
#[test]
fn gain_on_the_weather_table() {
    let record = record("ig.quinlan");
    let tolerance = record["tolerance"]["computed"].as_f64().unwrap();
    let total: Vec<usize> = serde_json::from_value(record["inputs"]["total"].clone()).unwrap();
    close(entropy(&total), record["expected"]["H"].as_f64().unwrap(), tolerance, "H");
    for (at, attribute) in ["outlook", "humidity", "wind", "temperature"].iter().enumerate() {
        let split: Vec<Vec<usize>> =
            serde_json::from_value(record["inputs"][attribute].clone()).unwrap();
        let found = gain(&split);
        close(found, record["expected"][attribute].as_f64().unwrap(), tolerance, attribute);
        let printed = record["expected"]["published"][at + 1].as_f64().unwrap();
        close(found, printed, record["tolerance"]["published"].as_f64().unwrap(), attribute);
    }
}

/// `ig.attr`: by hand from Shannon 1948.
#[test]
fn entropy_of_a_split() {
    let record = record("ig.attr");
    let sizes: Vec<usize> = serde_json::from_value(record["inputs"]["sizes"].clone()).unwrap();
    close(entropy(&sizes), record["expected"].as_f64().unwrap(), 1e-12, "split");
    let one_each: Vec<Vec<usize>> = (0..sizes.len())
        .map(|group| (0..sizes.len()).map(|of| if of == group { sizes[of] } else { 0 }).collect())
        .collect();
    close(gain(&one_each), record["expected"].as_f64().unwrap(), 1e-12, "gain of a full split");
    close(entropy(&[]), 0.0, 0.0, "nothing");
    close(entropy(&[5, 0]), 0.0, 0.0, "one group");
    close(gain(&[]), 0.0, 0.0, "no values");
}

/// `ig.clue`: by hand; teres minor among eight muscles of the shoulder.
#[test]
fn clues_of_teres_minor() {
    let record = record("ig.clue");
    let candidates: BTreeSet<String> =
        serde_json::from_value(record["inputs"]["candidates"].clone()).unwrap();
    let clues: BTreeMap<String, BTreeSet<String>> =
        serde_json::from_value(record["inputs"]["clues"].clone()).unwrap();
    for (clue, expected) in record["expected"]["unconditional"].as_object().unwrap() {
        let found = realised_bits(candidates.len(), clues[clue].len());
        close(found, expected.as_f64().unwrap(), 1e-9, clue);
    }
    let texts: Vec<&String> = clues.keys().collect();
    let fits: Vec<BTreeSet<String>> = clues.values().cloned().collect();
    let steps = order(&candidates, &fits, None);
    let expected = record["expected"]["order"].as_array().unwrap();
    assert_eq!(steps.len(), expected.len());
    for (step, expected) in steps.iter().zip(expected) {
        assert_eq!(expected["clue"], *texts[step.statement]);
        assert_eq!(expected["remaining"], step.remaining);
        close(step.bits, expected["bits"].as_f64().unwrap(), 1e-9, texts[step.statement]);
    }
    let sum: f64 = steps.iter().map(|step| step.bits).sum();
    close(sum, 3.0, 1e-9, "all clues tell which of eight");
}

/// An equal share of what is left is told at each step, or as much as any statement can.
#[test]
fn few_steps_tell_more_each() {
    let everyone: BTreeSet<usize> = (0..8).collect();
    let fits: Vec<BTreeSet<usize>> = (1..8).rev().map(|most| (0..most).collect()).collect();
    let check = |most, expected: &[usize]| {
        let remaining: Vec<usize> =
            order(&everyone, &fits, most).iter().map(|step| step.remaining).collect();
        assert_eq!(remaining, expected, "at most {most:?}");
    };
    check(None, &[7, 6, 5, 4, 3, 2, 1]);
    check(Some(7), &[5, 3, 2, 1]);
    check(Some(3), &[4, 2, 1]);
    check(Some(2), &[2, 1]);
    check(Some(1), &[1]);
    check(Some(0), &[1]);
}
