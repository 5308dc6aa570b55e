//! What came of it, as one table.

use std::process::ExitCode;
use std::time::Duration;

use anyhow::Result;
use comfy_table::presets::ASCII_MARKDOWN;
use serde::{Deserialize, Serialize};

use crate::crowd::Audit;
use crate::options::{Options, Size};

/// What came of one fault.
#[derive(Debug)]
pub(crate) enum Outcome {
    /// It was tried.
    Tried(Row),
    /// This machine does not allow it, and why.
    NotHere(String),
}

/// What was counted of one fault.
#[derive(Debug, Default, Serialize, Deserialize)]
pub(crate) struct Row {
    /// Times that something was broken.
    pub(crate) tried: usize,
    /// Answers of which a student was told that they are recorded.
    pub(crate) acknowledged: usize,
    /// Those of them that are not in the log.
    pub(crate) lost: usize,
    /// Answers that are in the log more than once, or beside another of the same student and round.
    pub(crate) doubled: usize,
    /// How long it took each time until the review went on; times that were cut short by the next
    /// fault are not among them.
    pub(crate) went_on: Vec<Duration>,
    /// Times that it did not go on by itself.
    pub(crate) stuck: usize,
    /// Anything else that a reader should know.
    pub(crate) note: String,
}

impl Row {
    /// Adds what was counted of another part of the same fault.
    pub(crate) fn add(&mut self, part: Self) {
        self.tried += part.tried;
        self.acknowledged += part.acknowledged;
        self.lost += part.lost;
        self.doubled += part.doubled;
        self.went_on.extend(part.went_on);
        self.stuck += part.stuck;
        let between = if self.note.is_empty() { "" } else { "; " };
        self.note.extend([between, &part.note]);
    }

    /// Adds what a log holds of what a class was told.
    pub(crate) fn count(&mut self, audit: Audit) {
        self.acknowledged += audit.acknowledged;
        self.lost += audit.lost;
        self.doubled += audit.doubled;
    }

    fn is_clean(&self) -> bool {
        self.tried > 0 && self.lost == 0 && self.doubled == 0 && self.stuck == 0
    }

    /// Median and worst, in milliseconds.
    fn times(&self) -> [String; 2] {
        let mut times: Vec<_> = self.went_on.iter().map(Duration::as_millis).collect();
        times.sort_unstable();
        let told = |time: Option<&u128>| time.map_or_else(|| "-".to_owned(), ToString::to_string);
        [told(times.get(times.len() / 2)), told(times.last())]
    }
}

/// The table of a run.
#[derive(Debug)]
pub(crate) struct Table {
    rows: comfy_table::Table,
    notes: Vec<String>,
    size: Size,
    seed: u64,
    failed: bool,
}

impl Table {
    /// An empty one.
    pub(crate) fn new(options: &Options) -> Self {
        let mut rows = comfy_table::Table::new();
        rows.load_style(ASCII_MARKDOWN).set_header([
            "fault",
            "tried",
            "acknowledged",
            "lost",
            "doubled",
            "did not go on",
            "median ms",
            "worst ms",
            "took s",
        ]);
        let (size, seed) = (options.size(), options.seed());
        Self { rows, notes: Vec::new(), size, seed, failed: false }
    }

    /// Adds a fault and what came of it. What cannot be tried here is said, and is no failure of the
    /// program.
    pub(crate) fn add(&mut self, name: &str, outcome: Result<Outcome>, took: Duration) {
        let clean = match outcome {
            Ok(Outcome::Tried(row)) => {
                self.counted(name, &row, took);
                row.is_clean()
            }
            Ok(Outcome::NotHere(why)) => {
                self.rows.add_row([name, &format!("not possible here: {why}")]);
                true
            }
            Err(fault) => {
                self.rows.add_row([name, "failed"]);
                self.notes.push(format!("{name}: {fault:#}"));
                false
            }
        };
        if !clean {
            self.failed = true;
            let Self { seed, size, .. } = self;
            let size = format!("{size:?}").to_lowercase();
            self.notes
                .push(format!("{name}: again with --only {name} --seed {seed} --size {size}"));
        }
    }

    fn counted(&mut self, name: &str, row: &Row, took: Duration) {
        let [median, worst] = row.times();
        let counts = [row.tried, row.acknowledged, row.lost, row.doubled, row.stuck];
        let counts = counts.map(|count| count.to_string());
        let took = took.as_secs().to_string();
        let cells = [name.to_owned()].into_iter().chain(counts).chain([median, worst, took]);
        self.rows.add_row(cells);
        if !row.note.is_empty() {
            self.notes.push(format!("{name}: {}", row.note));
        }
    }

    /// Prints it; the exit code is that of the whole run.
    #[expect(clippy::print_stdout, reason = "the table is what the run is for")]
    pub(crate) fn finish(self) -> ExitCode {
        println!("\nfaults against the real program, seed {}\n{}", self.seed, self.rows);
        for note in &self.notes {
            println!("{note}");
        }
        if self.failed { ExitCode::FAILURE } else { ExitCode::SUCCESS }
    }
}

/// Prints what came of one part for the process that asked for it.
#[expect(clippy::print_stdout, reason = "that process reads it there")]
pub(crate) fn hand_out(outcome: Result<Outcome>) -> ExitCode {
    let row = match outcome {
        Ok(Outcome::Tried(row)) => serde_json::to_string(&row).map_err(anyhow::Error::from),
        Ok(Outcome::NotHere(why)) => Err(anyhow::anyhow!("not possible here: {why}")),
        Err(fault) => Err(fault),
    };
    match row {
        Ok(row) => {
            println!("{row}");
            ExitCode::SUCCESS
        }
        Err(fault) => {
            println!("{fault:#}");
            ExitCode::FAILURE
        }
    }
}
