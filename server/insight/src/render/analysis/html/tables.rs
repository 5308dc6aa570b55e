//! Tables and the numbers in them.

use std::fmt::Display;

use maud::{Markup, html};

use crate::estimate::Estimate;

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Holds {
    /// Text, set left.
    Text,
    /// Numbers, set right.
    Number,
}

/// Columns by title.
pub(super) type Columns<'a> = &'a [(&'a str, Holds)];

/// A table with a caption. The first cell of a row names it.
pub(super) fn table(
    caption: &str,
    columns: Columns<'_>,
    rows: impl IntoIterator<Item = Vec<Markup>>,
) -> Markup {
    let rows: Vec<Vec<Markup>> = rows.into_iter().collect();
    let long = (rows.len() > FITS_A_PAGE).then_some("long");
    let class = |place: usize| match columns.get(place) {
        Some((_, Holds::Number)) => Some("number"),
        _ => None,
    };
    html! {
        // What may be wider than a phone is scrolled in a box of its own, with the keys too.
        div.wide role="group" tabindex="0" aria-label=(caption) {
            table class=[long] {
                caption { (caption) }
                thead {
                    tr {
                        @for (place, (title, _)) in columns.iter().enumerate() {
                            th scope="col" class=[class(place)] { (title) }
                        }
                    }
                }
                tbody {
                    @for row in rows {
                        tr {
                            @for (place, cell) in row.iter().enumerate() {
                                @if place == 0 {
                                    th scope="row" class=[class(place)] { (cell) }
                                } @else {
                                    td class=[class(place)] { (cell) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// A table of more rows may be divided between printed pages; a shorter one stays whole.
const FITS_A_PAGE: usize = 24;

/// Text as a cell.
pub(super) fn text(text: &str) -> Markup {
    html! { (text) }
}

/// Anything that is shown as it is.
pub(super) fn number(number: impl Display + Copy) -> Markup {
    html! { (number.to_string()) }
}

/// A value, or that there is none.
pub(super) fn or_dash(value: Option<String>) -> Markup {
    html! { @match value { Some(value) => { (value) } None => { "–" } } }
}

/// `9 of 24`.
pub(super) fn of(count: u32, of: u32) -> Markup {
    html! { (count) " of " (of) }
}

/// `38 % (21–57)`.
pub(super) fn share(rate: &Estimate) -> String {
    range(rate.value, rate.low, rate.high)
}

/// `38 % (21–57)` from its parts.
pub(super) fn range(value: f64, low: f64, high: f64) -> String {
    format!("{:.0} % ({:.0}–{:.0})", value * 100.0, low * 100.0, high * 100.0)
}

/// `38 %`.
pub(super) fn percent(value: f64) -> String {
    format!("{:.0} %", value * 100.0)
}

/// `+0.31`, `−0.20`, `0.00`: a number that may lie on either side of 0.
pub(super) fn signed(value: f64) -> String {
    let size = format!("{:.2}", value.abs());
    match size.as_str() {
        "0.00" => size,
        _ if value < 0.0 => format!("−{size}"),
        _ => format!("+{size}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_for_people() {
        assert_eq!(signed(-0.204), "−0.20");
        assert_eq!(signed(-0.001), "0.00");
        assert_eq!(signed(0.31), "+0.31");
        assert_eq!(range(0.375, 0.2116, 0.5729), "38 % (21–57)");
    }
}
