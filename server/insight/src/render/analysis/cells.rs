//! Cells of a spreadsheet, and why they could not be written.

use thiserror::Error;

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

/// Text that no spreadsheet takes for a formula, in the full-width forms of the signs neither.
pub(super) fn cell(text: &str) -> String {
    let formula = |c: char| "=+-@＝＋－＠".contains(c) || c.is_control();
    if text.starts_with(formula) { format!("'{text}") } else { text.to_owned() }
}

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
