//! The report as comma-separated values.

use myonym_engine::AskedAgainWhy;
use serde::Serialize;
use thiserror::Error;

use crate::estimate::{Estimate, wilson};
use crate::predicted::Predicted;
use crate::report::{Report, ReportPair};
use crate::rows::Hard;

/// Why a report could not be written.
#[derive(Debug, Error)]
pub enum RenderError {
    /// The writer of comma-separated values failed.
    #[error("cannot write the report as CSV")]
    Csv(#[from] ::csv::Error),
    /// The table is no UTF-8, or did not reach the end.
    #[error("cannot finish the report as CSV: {0}")]
    Unfinished(String),
}

/// The report as one tidy table: RFC 4180 with a header row and line feeds, UTF-8.
///
/// | column | what it holds |
/// | --- | --- |
/// | `table` | what the row counts: `muscle` (how one was answered), `pair` (one answered for another), `unclear` (typed names that were no answer), `misspelt`, `picture` (of `muscle`, those shown a picture), `movement` (how one's movement was answered), `instead` (what was said for it) |
/// | `outcome` | of `muscle`: `right`, `near`, `wrong`, `silent`, four rows that add up to `of`; so of `movement`; of `picture`: `right`; of `unclear`: `which_one` (fits several muscles), `unknown_name`; else empty |
/// | `asked` | the muscle described; of `misspelt` the muscle meant |
/// | `said` | of `pair` the muscle answered; of `instead` the movement |
/// | `typed` | of `unclear` and `misspelt` what was typed |
/// | `count` | students, once for each round |
/// | `of` | students asked; empty for typed names |
/// | `rate`, `low`, `high` | `count` of `of` with its 95 % Wilson interval, to four decimals |
/// | `median_ms` | in the `right` rows, median time of the right answers in milliseconds |
/// | `aspect`, `asked_has`, `said_has` | of `pair` the feature that separates the two best, and how each has it |
///
/// A spreadsheet takes a cell for a formula if it begins with `=`, `+`, `-`, `@` or a control
/// character: in text such a cell is given a leading apostrophe (OWASP, "CSV Injection").
pub fn csv(report: &Report) -> Result<String, RenderError> {
    // The header is written by hand, so that a report without rows has one too.
    let mut writer = ::csv::WriterBuilder::new().has_headers(false).from_writer(Vec::new());
    writer.write_record(HEADER)?;
    for row in rows(report) {
        writer.serialize(row)?;
    }
    let bytes = writer.into_inner().map_err(|e| RenderError::Unfinished(e.to_string()))?;
    String::from_utf8(bytes).map_err(|e| RenderError::Unfinished(e.to_string()))
}

/// One row; empty text and `None` are empty cells.
#[derive(Debug, Default, Serialize)]
struct Row {
    table: &'static str,
    outcome: &'static str,
    asked: String,
    said: String,
    typed: String,
    count: u32,
    of: Option<u32>,
    rate: Option<String>,
    low: Option<String>,
    high: Option<String>,
    median_ms: Option<u64>,
    aspect: String,
    asked_has: String,
    said_has: String,
}

fn rows(report: &Report) -> impl Iterator<Item = Row> + '_ {
    let muscles = report.hardest.iter().flat_map(muscle_rows);
    let pairs = report.pairs.iter().map(pair_row);
    let unclear = report.unclear.iter().map(|form| Row {
        table: "unclear",
        outcome: match form.why {
            AskedAgainWhy::WhichOne => "which_one",
            AskedAgainWhy::UnknownName => "unknown_name",
        },
        asked: cell(&form.asked_name),
        typed: cell(&form.typed),
        count: form.count,
        ..Row::default()
    });
    let misspelt = report.misspelt.iter().map(|form| Row {
        table: "misspelt",
        asked: cell(&form.name),
        typed: cell(&form.typed),
        count: form.count,
        ..Row::default()
    });
    let movements = report.movements.iter().flat_map(movement_rows);
    let pictures = report.hardest.iter().filter(|hard| hard.pictured > 0).map(picture_row);
    muscles.chain(pairs).chain(unclear).chain(misspelt).chain(pictures).chain(movements)
}

fn picture_row(hard: &Hard) -> Row {
    let Hard { pictured, pictured_right: right, .. } = *hard;
    Row {
        table: "picture",
        outcome: "right",
        asked: cell(&hard.name),
        ..shares(right, pictured, wilson(right, pictured))
    }
}

fn movement_rows(predicted: &Predicted) -> impl Iterator<Item = Row> + '_ {
    let Predicted { name, right, near, silent, asked, .. } = predicted;
    let wrong = asked - right - near - silent;
    let row = |(outcome, count)| Row {
        table: "movement",
        outcome,
        asked: cell(name),
        ..shares(count, *asked, wilson(count, *asked))
    };
    let outcomes = [("right", *right), ("near", *near), ("wrong", wrong), ("silent", *silent)];
    let instead = predicted.instead.iter().map(|said| Row {
        table: "instead",
        asked: cell(name),
        said: cell(&said.movement),
        ..shares(said.count, *asked, wilson(said.count, *asked))
    });
    outcomes.map(row).into_iter().chain(instead)
}

fn muscle_rows(hard: &Hard) -> [Row; 4] {
    let wrong = hard.asked - hard.right - hard.near - hard.silent;
    let row = |outcome, count, median_ms| Row {
        table: "muscle",
        outcome,
        asked: cell(&hard.name),
        median_ms,
        ..shares(count, hard.asked, wilson(count, hard.asked))
    };
    [
        row("right", hard.right, hard.median_ms),
        row("near", hard.near, None),
        row("wrong", wrong, None),
        row("silent", hard.silent, None),
    ]
}

fn pair_row(ReportPair { confused, apart }: &ReportPair) -> Row {
    let has = |side: Option<&String>| side.map(|text| cell(text)).unwrap_or_default();
    Row {
        table: "pair",
        asked: cell(&confused.asked_name),
        said: cell(&confused.said_name),
        aspect: has(apart.as_ref().map(|apart| &apart.aspect)),
        asked_has: has(apart.as_ref().map(|apart| &apart.first)),
        said_has: has(apart.as_ref().map(|apart| &apart.second)),
        ..shares(confused.count, confused.of, Some(confused.rate))
    }
}

fn shares(count: u32, of: u32, rate: Option<Estimate>) -> Row {
    let number = |value: f64| format!("{value:.4}");
    Row {
        count,
        of: Some(of),
        rate: rate.map(|rate| number(rate.value)),
        low: rate.map(|rate| number(rate.low)),
        high: rate.map(|rate| number(rate.high)),
        ..Row::default()
    }
}

/// Text that no spreadsheet takes for a formula, in the full-width forms of the signs neither.
pub(super) fn cell(text: &str) -> String {
    let formula = |c: char| "=+-@＝＋－＠".contains(c) || c.is_control();
    if text.starts_with(formula) { format!("'{text}") } else { text.to_owned() }
}

const HEADER: [&str; 14] = [
    "table",
    "outcome",
    "asked",
    "said",
    "typed",
    "count",
    "of",
    "rate",
    "low",
    "high",
    "median_ms",
    "aspect",
    "asked_has",
    "said_has",
];

#[cfg(test)]
mod tests {
    use super::*;

    /// OWASP, "CSV Injection": cells that begin with these are taken for formulas.
    #[test]
    fn text_is_no_formula() {
        let check = |text: &str, want: &str| assert_eq!(cell(text), want);
        check("=1+1", "'=1+1");
        check("+cmd", "'+cmd");
        check("-2", "'-2");
        check("@SUM(A1)", "'@SUM(A1)");
        check("\t=1", "'\t=1");
        check("\r=1", "'\r=1");
        check("＝1", "'＝1");
        check("teres minor", "teres minor");
        check("", "");
        check("a=b", "a=b");
    }
}
