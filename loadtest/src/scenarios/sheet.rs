//! The figures of a scenario: over runs, as ratios to the baselines, beside what they should be.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize, Serializer};

use super::Measured;
use crate::figures::{Figure, median};
use crate::report::significant;
use crate::runs::Subject;
use crate::table::{compared, table};

/// What stands under a table whose latencies tell little.
pub(crate) const LATE: &str = "The clients themselves sent late: this machine was busy, or wakes a \
    sleeping program late. Latencies beyond the median tell of that as much as of the servers.";

/// One figure.
#[derive(Debug, Clone)]
pub(crate) struct Row {
    /// Its key in the JSON.
    pub(super) key: String,
    /// What stands in the table, with its unit.
    pub(super) label: String,
    /// What the server should keep to.
    pub(super) target: Option<Goal>,
}

/// What the server should keep to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Goal {
    /// So many times the floor's at most.
    TimesFloor(f64),
    /// So many times the frames' at least.
    TimesFrames(f64),
    /// So much at most.
    Most(f64),
}

/// All figures of a scenario.
#[derive(Debug)]
pub(crate) struct Sheet {
    name: String,
    title: String,
    rows: Vec<Row>,
    /// Figures by key, of each run and subject.
    runs: Vec<[BTreeMap<String, f64>; Subject::ALL.len()]>,
    /// What went wrong, a sentence each.
    pub(super) faults: Vec<String>,
}

/// The runs' values: their middle, and how far they lie apart.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub(crate) struct Spread {
    pub(crate) median: f64,
    pub(crate) least: f64,
    pub(crate) greatest: f64,
}

/// A row of the JSON.
#[derive(Debug, Serialize, Deserialize)]
pub(crate) struct RowJson {
    pub(crate) key: String,
    pub(crate) label: String,
    /// The runs' values.
    pub(crate) server: Vec<f64>,
    pub(crate) floor: Vec<f64>,
    pub(crate) frames: Vec<f64>,
    #[serde(default)]
    pub(crate) keeper: Vec<f64>,
    pub(crate) server_over_floor: Option<Spread>,
    pub(crate) server_over_frames: Option<Spread>,
    pub(crate) server_over_keeper: Option<Spread>,
    pub(crate) target: Option<String>,
    pub(crate) met: Option<bool>,
}

/// A scenario of the JSON.
#[derive(Debug, Serialize, Deserialize)]
pub(crate) struct SheetJson {
    pub(crate) scenario: String,
    pub(crate) title: String,
    pub(crate) runs: usize,
    pub(crate) figures: Vec<RowJson>,
    pub(crate) faults: Vec<String>,
}

impl Row {
    /// A figure without a target.
    pub(super) fn new(key: impl Into<String>, label: impl Into<String>) -> Self {
        Self { key: key.into(), label: label.into(), target: None }
    }

    /// The same, with one.
    pub(super) fn with(self, target: Goal) -> Self {
        Self { target: Some(target), ..self }
    }
}

impl Goal {
    fn words(self) -> String {
        match self {
            Self::TimesFloor(times) => format!("at most {times} x floor"),
            Self::TimesFrames(times) => format!("at least {times} x frames"),
            Self::Most(most) => format!("at most {most}"),
        }
    }
}

impl Spread {
    /// Of some values, if there are any.
    pub(crate) fn of(values: &[f64]) -> Option<Self> {
        let least = values.iter().copied().fold(f64::INFINITY, f64::min);
        let greatest = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        median(values.to_vec()).map(|median| Self { median, least, greatest })
    }

    /// In words, with the least and the greatest where they differ.
    pub(crate) fn words(&self) -> String {
        let Self { median, least, greatest } = *self;
        if least < greatest {
            format!("{median:.2} ({least:.2} to {greatest:.2})")
        } else {
            format!("{median:.2}")
        }
    }
}

impl Sheet {
    /// Nothing measured yet.
    pub(super) fn new(name: String, title: String, rows: Vec<Row>) -> Self {
        Self { name, title, rows, runs: Vec::new(), faults: Vec::new() }
    }

    /// The scenario's name.
    pub(super) fn name(&self) -> &str {
        &self.name
    }

    /// Another run begins.
    pub(super) fn begin_run(&mut self) {
        self.runs.push(Default::default());
    }

    /// Adds what a part of the run gave.
    pub(super) fn add(&mut self, subject: Subject, measured: Measured) {
        let number = self.runs.len();
        for fault in measured.faults {
            self.faults.push(format!("FAULT in run {number}, {}: {fault}", subject.name()));
        }
        if let Some(run) = self.runs.last_mut() {
            run[subject as usize].extend(measured.values);
        }
    }

    /// Adds, to the last run, what follows from its figures.
    pub(super) fn derive(
        &mut self,
        key: &str,
        from: impl Fn(&dyn Fn(&str) -> Option<f64>) -> Option<f64>,
    ) {
        for values in self.runs.last_mut().into_iter().flatten() {
            if let Some(value) = from(&|key| values.get(key).copied()) {
                values.insert(key.to_owned(), value);
            }
        }
    }

    /// The runs' values of one figure.
    pub(super) fn values(&self, subject: Subject, key: &str) -> Vec<f64> {
        let of = |run: &[BTreeMap<String, f64>; Subject::ALL.len()]| {
            run[subject as usize].get(key).copied()
        };
        self.runs.iter().filter_map(of).collect()
    }

    /// The server's figure over a baseline's, run by run.
    fn ratio(&self, base: Subject, key: &str) -> Option<Spread> {
        let ratio = |run: &[BTreeMap<String, f64>; Subject::ALL.len()]| {
            let base = *run[base as usize].get(key).filter(|base| **base > 0.0)?;
            Some(run[Subject::Server as usize].get(key)? / base)
        };
        Spread::of(&self.runs.iter().filter_map(ratio).collect::<Vec<_>>())
    }

    /// Whether a target is met; `None` where that was not measured.
    fn is_met(&self, row: &Row) -> Option<bool> {
        let over = |base| self.ratio(base, &row.key).map(|spread| spread.median);
        match row.target? {
            Goal::TimesFloor(times) => over(Subject::Floor).map(|ratio| ratio <= times),
            Goal::TimesFrames(times) => over(Subject::Frames).map(|ratio| ratio >= times),
            Goal::Most(most) => median(self.values(Subject::Server, &row.key)).map(|v| v <= most),
        }
    }

    /// Title, table and faults.
    pub(super) fn text(&self) -> String {
        let mut head = compared();
        let numbers = 1..head.len();
        head.extend(["target".to_owned(), String::new()]);
        let mut table = table(head, numbers);
        for row in &self.rows {
            let value = |subject| {
                let value = median(self.values(subject, &row.key));
                value.map_or_else(|| "-".to_owned(), significant)
            };
            let ratio = |base| {
                let ratio = self.ratio(base, &row.key);
                ratio.map_or_else(|| "-".to_owned(), |spread| spread.words())
            };
            let verdict = row.target.map(|_| match self.is_met(row) {
                Some(true) => "met",
                Some(false) => "MISSED",
                None => "not measured here",
            });
            let mut cells = vec![row.label.clone()];
            cells.extend(Subject::ALL.map(value));
            cells.extend(Subject::BASES.map(ratio));
            cells.push(row.target.map(Goal::words).unwrap_or_default());
            cells.push(verdict.unwrap_or_default().to_owned());
            table.add_row(cells);
        }
        let heading = format!("{}: {} ({} runs)", self.name, self.title, self.runs.len());
        let mut parts = vec![heading, table.trim_fmt()];
        if Subject::ALL.iter().any(|subject| self.sent_late(*subject)) {
            parts.push(LATE.to_owned());
        }
        parts.extend(self.faults.iter().cloned());
        parts.join("\n\n")
    }

    /// Whether the clients' own lateness makes up more than half of the tail of what they measured.
    fn sent_late(&self, subject: Subject) -> bool {
        let middle = |figure: Figure| median(self.values(subject, &figure.key()));
        let pair = middle(Figure::SendLagP99Us).zip(middle(Figure::ReceivedP99Us));
        pair.is_some_and(|(lag, received)| lag > received / 2.0)
    }

    fn to_json(&self) -> SheetJson {
        let figure = |row: &Row| RowJson {
            key: row.key.clone(),
            label: row.label.clone(),
            server: self.values(Subject::Server, &row.key),
            floor: self.values(Subject::Floor, &row.key),
            frames: self.values(Subject::Frames, &row.key),
            keeper: self.values(Subject::Keeper, &row.key),
            server_over_floor: self.ratio(Subject::Floor, &row.key),
            server_over_frames: self.ratio(Subject::Frames, &row.key),
            server_over_keeper: self.ratio(Subject::Keeper, &row.key),
            target: row.target.map(Goal::words),
            met: self.is_met(row),
        };
        SheetJson {
            scenario: self.name.clone(),
            title: self.title.clone(),
            runs: self.runs.len(),
            figures: self.rows.iter().map(figure).collect(),
            faults: self.faults.clone(),
        }
    }
}

impl Serialize for Sheet {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.to_json().serialize(serializer)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::script::Script;

    fn sheet(target: Goal, runs: &[[Option<f64>; 3]]) -> Sheet {
        let row = Row::new("cost", "cost (us)").with(target);
        let mut sheet = Sheet::new("hall".to_owned(), "a hall".to_owned(), vec![row]);
        for run in runs {
            sheet.begin_run();
            for (subject, value) in Subject::ALL.into_iter().zip(run) {
                let values = value.map(|value| ("cost".to_owned(), value)).into_iter().collect();
                let (script, faults) = (Script::sample(1), Vec::new());
                sheet.add(subject, Measured { values, script, faults });
            }
        }
        sheet
    }

    #[test]
    fn a_target_is_held_against_the_median_of_the_runs_own_ratios() {
        let check = |target, runs: &[[Option<f64>; 3]], want| {
            let sheet = sheet(target, runs);
            assert_eq!(sheet.is_met(&sheet.rows[0]), want, "{target:?} {runs:?}");
        };
        let runs = [
            [Some(11.0), Some(10.0), Some(20.0)],
            [Some(12.0), Some(10.0), Some(20.0)],
            [Some(90.0), Some(10.0), Some(20.0)],
        ];
        check(Goal::TimesFloor(1.2), &runs, Some(true));
        check(Goal::TimesFloor(1.1), &runs, Some(false));
        check(Goal::TimesFrames(0.6), &runs, Some(true));
        check(Goal::TimesFrames(0.7), &runs, Some(false));
        check(Goal::Most(12.0), &runs, Some(true));
        check(Goal::Most(11.0), &runs, Some(false));
        // What was not measured is neither met nor missed.
        check(Goal::TimesFloor(1.0), &[[Some(1.0), None, Some(1.0)]], None);
        check(Goal::TimesFloor(1.0), &[[Some(1.0), Some(0.0), None]], None);
        check(Goal::Most(1.0), &[[None, Some(1.0), None]], None);
    }

    #[test]
    fn a_table_says_in_words_whether_a_target_is_met() {
        let text = |server| sheet(Goal::TimesFloor(1.0), &[[Some(server), Some(2.0), None]]).text();
        assert!(text(1.0).contains("at most 1 x floor | met"), "{}", text(1.0));
        assert!(text(3.0).contains("at most 1 x floor | MISSED"), "{}", text(3.0));
    }
}
