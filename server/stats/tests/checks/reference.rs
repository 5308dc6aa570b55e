//! Reads the reference files.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use myonym_stats::{Responses, Square, Tally};
use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::Value;

#[derive(Deserialize)]
struct File {
    checks: Vec<Check>,
}

/// One record.
#[derive(Deserialize)]
pub(crate) struct Check {
    id: String,
    inputs: Value,
    expected: Value,
    tolerance: Value,
}

static CHECKS: LazyLock<BTreeMap<String, Check>> =
    LazyLock::new(|| [STATISTICS, SCORING, TIMING].into_iter().flat_map(records).collect());

const STATISTICS: &str = include_str!("../../../../tests/reference/psychometrics/statistics.json");
const SCORING: &str = include_str!("../../../../tests/reference/psychometrics/scoring.json");
const TIMING: &str = include_str!("../../../../tests/reference/psychometrics/timing.json");

fn records(file: &str) -> impl Iterator<Item = (String, Check)> {
    let file: File = serde_json::from_str(file).unwrap();
    file.checks.into_iter().map(|check| (check.id.clone(), check))
}

/// Those that are all this crate's. (Credited times are another's.)
pub(crate) fn ids() -> impl Iterator<Item = String> {
    [STATISTICS, SCORING].into_iter().flat_map(records).map(|(id, _)| id)
}

pub(crate) fn check(id: &str) -> &'static Check {
    CHECKS.get(id).unwrap_or_else(|| panic!("no check value {id}"))
}

impl Check {
    pub(crate) fn inputs<T: DeserializeOwned>(&self) -> T {
        serde_json::from_value(self.inputs.clone()).unwrap()
    }

    /// An input by its name.
    pub(crate) fn input<T: DeserializeOwned>(&self, key: &str) -> T {
        serde_json::from_value(self.inputs[key].clone()).unwrap()
    }

    pub(crate) fn expected<T: DeserializeOwned>(&self) -> T {
        serde_json::from_value(self.expected.clone()).unwrap()
    }

    /// An expected value by its name.
    pub(crate) fn wanted<T: DeserializeOwned>(&self, key: &str) -> T {
        serde_json::from_value(self.expected[key].clone()).unwrap()
    }

    /// Within the one tolerance of the record.
    pub(crate) fn near(&self, found: f64, want: f64) {
        self.within(found, want, self.tolerance.as_f64().unwrap());
    }

    /// Within the tolerance of this name.
    pub(crate) fn near_by(&self, key: &str, found: f64, want: f64) {
        self.within(found, want, self.tolerance[key].as_f64().unwrap());
    }

    /// The expected value of this name, within the tolerance of the same name or the only one.
    pub(crate) fn finds(&self, key: &str, found: f64) {
        let tolerance = self.tolerance.get(key).unwrap_or(&self.tolerance);
        self.within(found, self.wanted(key), tolerance.as_f64().unwrap());
    }

    /// The same for a list.
    pub(crate) fn finds_all(&self, key: &str, found: &[f64]) {
        let tolerance = self.tolerance.get(key).unwrap_or(&self.tolerance).as_f64().unwrap();
        self.all_within(found, &self.wanted::<Vec<f64>>(key), tolerance);
    }

    pub(crate) fn all_near(&self, found: &[f64], want: &[f64]) {
        self.all_within(found, want, self.tolerance.as_f64().unwrap());
    }

    fn all_within(&self, found: &[f64], want: &[f64], tolerance: f64) {
        assert_eq!(found.len(), want.len(), "{}", self.id);
        found.iter().zip(want).for_each(|(found, want)| self.within(*found, *want, tolerance));
    }

    fn within(&self, found: f64, want: f64, tolerance: f64) {
        assert!((found - want).abs() <= tolerance, "{}: {found} is not {want}", self.id);
    }
}

/// Rows of numbers below the header of a data set.
fn data_set(text: &str) -> impl Iterator<Item = Vec<u32>> {
    text.lines().skip(1).map(|line| line.split(',').map(|cell| cell.parse().unwrap()).collect())
}

/// LSAT section 6: 1000 persons, 5 items.
pub(crate) fn lsat() -> Responses {
    let text = include_str!("../../../../tests/reference/psychometrics/lsat6.csv");
    let mut rows = Vec::new();
    for pattern in data_set(text) {
        let (count, answers) = pattern.split_last().unwrap();
        let row: Vec<Option<bool>> = answers.iter().map(|right| Some(*right == 1)).collect();
        rows.extend(std::iter::repeat_n(row, usize::try_from(*count).unwrap()));
    }
    assert_eq!(rows.len(), 1000);
    Responses::new(rows).unwrap()
}

/// Tumours among rats of 71 groups.
pub(crate) fn rats() -> Vec<Tally> {
    let text = include_str!("../../../../tests/reference/psychometrics/rat_tumour.csv");
    data_set(text).map(|row| Tally::new(row[0], row[1]).unwrap()).collect()
}

/// Vision of 7477 women.
pub(crate) fn vision() -> Square {
    let text = include_str!("../../../../tests/reference/psychometrics/vision_women.csv");
    let rows: Vec<Vec<f64>> =
        data_set(text).map(|row| row[1..].iter().map(|cell| f64::from(*cell)).collect()).collect();
    Square::new(&rows).unwrap()
}

/// Responses from rows of 1, 0 and nothing.
pub(crate) fn responses(rows: Vec<Vec<Option<u8>>>) -> Responses {
    let row = |row: Vec<Option<u8>>| row.into_iter().map(|cell| cell.map(|one| one == 1)).collect();
    Responses::new(rows.into_iter().map(row).collect()).unwrap()
}
