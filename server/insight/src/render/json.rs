//! The report as JSON.

use crate::report::Report;

/// The report as one JSON object, fields as in [`Report`], keys in that order, indented by two
/// spaces, with a line feed at the end.
///
/// `schema` is its first field; see [`SCHEMA`](crate::SCHEMA) for what it promises. Shares are
/// numbers from 0 to 1, times whole milliseconds, ids text; a field without a value is `null`.
///
/// # Panics
///
/// Never: a report is plain data with text keys.
pub fn json(report: &Report) -> String {
    let mut text = serde_json::to_string_pretty(report).expect("plain data with text keys");
    text.push('\n');
    text
}
