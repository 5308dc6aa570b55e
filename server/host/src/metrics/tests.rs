//! The page is what the format wants, and says what was counted.

use std::collections::BTreeSet;
use std::time::Duration;

use prometheus_parse::{Scrape, Value};

use super::page::Waiting;
use super::{CODES, Durations, Limit, page, term};

fn parsed(text: &str) -> Scrape {
    Scrape::parse(text.lines().map(|line| Ok(line.to_owned()))).unwrap()
}

/// Of the format: each name has one HELP and one TYPE before its rows, every row is one; of the rules for
/// names: counters, and nothing else, end in `_total`.
#[test]
fn every_family_is_described_once_and_named_by_the_rules() {
    let text = page(Waiting::default());
    assert!(text.ends_with('\n') && text.is_ascii());
    let (mut kind, mut name, mut seen) = ("", "", BTreeSet::new());
    for line in text.lines() {
        if let Some(help) = line.strip_prefix("# HELP ") {
            (name, _) = help.split_once(' ').unwrap();
            assert!(seen.insert(name), "{name} twice");
            assert!(!help.contains('\\'), "{help}");
        } else if let Some(told) = line.strip_prefix("# TYPE ") {
            let (typed, of) = told.split_once(' ').unwrap();
            assert_eq!(typed, name);
            kind = of;
            assert_eq!(name.ends_with("_total"), kind == "counter", "{name} {kind}");
        } else {
            let row = line.split(['{', ' ']).next().unwrap();
            let part = row.strip_prefix(name).unwrap();
            let parts = ["_bucket", "_sum", "_count"];
            assert!(part.is_empty() || kind == "histogram" && parts.contains(&part), "{line}");
        }
    }
}

/// An independent reader finds what was put in: every label, and what waits.
#[test]
fn a_parser_of_the_format_reads_every_row() {
    let scrape = parsed(&page(Waiting { posts: 3, batches: 4 }));
    let value = |name: &str| {
        let sample = scrape.samples.iter().find(|sample| sample.metric == name).unwrap();
        sample.value.clone()
    };
    assert_eq!(value("myonym_posts_waiting"), Value::Gauge(3.0));
    assert_eq!(value("myonym_batches_waiting"), Value::Gauge(4.0));
    assert!(matches!(value("process_start_time_seconds"), Value::Gauge(at) if at > 1.6e9));
    let labels = |name: &str, label: &str| -> BTreeSet<String> {
        let of = scrape.samples.iter().filter(|sample| sample.metric == name);
        of.map(|sample| sample.labels.get(label).unwrap().to_owned()).collect()
    };
    let limits = Limit::ALL.map(|limit| limit.as_str().to_owned());
    assert_eq!(labels("myonym_limits_reached_total", "limit"), BTreeSet::from(limits));
    let codes = CODES.map(|code| term(&code));
    assert_eq!(labels("myonym_refusals_total", "code"), BTreeSet::from(codes));
    assert_eq!(scrape.docs.len(), page(Waiting::default()).matches("# HELP").count());
}

/// The wire's schema names as many refusals as are counted.
#[test]
fn every_refusal_of_the_wire_is_counted() {
    let (_, schema) = myonym_wire::schema::all()
        .into_iter()
        .find(|(name, _)| *name == "to_student.json")
        .unwrap();
    let schema = schema.to_value();
    let known = schema["$defs"]["ErrorCode"]["oneOf"].as_array().unwrap();
    let known: BTreeSet<_> = known.iter().map(|code| code["const"].as_str().unwrap()).collect();
    let counted = CODES.map(|code| term(&code));
    assert_eq!(known, counted.iter().map(String::as_str).collect());
}

/// The limits of the contributors' guide name the counter of each.
#[test]
fn every_limit_stands_in_the_contributors_guide() {
    let guide = include_str!("../../../../DEVELOPERS.md");
    let rows = guide.lines().filter(|line| line.starts_with('|'));
    let last = rows.filter_map(|row| row.trim_end_matches(['|', ' ']).rsplit("| ").next());
    let told: BTreeSet<&str> = last.flat_map(|cell| cell.split('`').skip(1).step_by(2)).collect();
    for limit in Limit::ALL {
        assert!(told.contains(limit.as_str()), "{limit:?} is in no row");
    }
}

/// A bucket counts all that took no longer, whatever the format's readers make of rates.
#[test]
fn steps_of_a_histogram_add_up() {
    let durations = Durations::new();
    for micros in [500, 501, 20_000, 11_000_000] {
        durations.took(Duration::from_micros(micros));
    }
    let counts = durations.counts.each_ref().map(super::Count::get);
    assert_eq!(counts, [1, 1, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0]);
    assert_eq!((durations.longer.get(), durations.micros.get()), (1, 11_021_001));
}
