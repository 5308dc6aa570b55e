//! The analysis as JSON.

use crate::analysis::Analysis;

/// The analysis as one JSON object, fields as in [`Analysis`], keys in that order, indented by two
/// spaces, with a line feed at the end.
///
/// `form` is its first field; see [`FORM`](crate::analysis::FORM) for what it promises. Shares are
/// numbers from 0 to 1, abilities and difficulties logits, times whole milliseconds or seconds
/// since 1970 as the name says, ids text; a field without a value is `null`.
///
/// # Panics
///
/// Never: an analysis is plain data with text keys.
pub fn json(found: &Analysis) -> String {
    let mut text = serde_json::to_string_pretty(found).expect("plain data with text keys");
    text.push('\n');
    text
}
