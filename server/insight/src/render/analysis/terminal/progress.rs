//! Progress of the sections, and how far marks can be trusted.

use super::super::super::text::{Column, paragraph, plain, section, table};
use super::super::words;
use super::{FAIR, WIDE, fitted};
use crate::analysis::{Progress, Reliability};

/// Reviews of a section, the last ones.
const MOST_REVIEWS: usize = 8;
const MOST_MARKS: usize = 8;

/// Each section, review by review, with its interval drawn on a line from 0 to 100 %.
pub(super) fn progress(progress: &[Progress], width: u16) -> String {
    let length = if width >= WIDE { 31 } else { 21 };
    let sections = words::by_section(progress);
    let rows = sections.iter().flat_map(|(name, points)| {
        let shown = &points[points.len().saturating_sub(MOST_REVIEWS)..];
        shown.iter().enumerate().map(move |(place, point)| {
            let (low, high) = (logistic(point.low), logistic(point.high));
            vec![
                if place == 0 { plain(name) } else { String::new() },
                plain(point.opened.split_whitespace().next().unwrap_or_default()),
                point.persons.to_string(),
                format!("{:.0} % ({:.0}-{:.0})", point.as_share * 100.0, low * 100.0, high * 100.0),
                span(low, point.as_share, high, length),
            ]
        })
    });
    let rows: Vec<Vec<String>> = rows.collect();
    if rows.is_empty() {
        return String::new();
    }
    let half = (length - 1) / 2;
    let scale = format!("0{:>half$}{:>half$}", "50", "100 %");
    let columns = [
        ("section", Column::Wraps, 0),
        ("opened", Column::Wraps, 0),
        ("students", Column::Number, FAIR),
        ("share right", Column::Number, 0),
        (scale.as_str(), Column::Keeps, FAIR),
    ];
    format!(
        "Progress of the sections\n\n{}{}",
        paragraph(
            "Share right on the mean muscle, all reviews on one scale, with 95 % interval.",
            width
        ),
        fitted(&columns, rows, width)
    )
}

/// How far the marks of each review can be trusted.
pub(super) fn reliability(reliability: &[Reliability], width: u16) -> String {
    let row = |line: &Reliability| {
        vec![
            plain(&line.word),
            line.kr20.map_or_else(|| "-".to_owned(), |kr20| format!("{kr20:.2}")),
            plain(&line.words),
        ]
    };
    let header = [
        ("review", Column::Wraps),
        ("KR-20", Column::Number),
        ("what to make of it", Column::Wraps),
    ];
    section("How far the marks can be trusted", reliability, MOST_MARKS, "review", |shown| {
        table(&header, shown.iter().map(row), width)
    })
}

/// An interval on a line of `length` places from 0 to 1: `····──o──···`.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "places of a short line"
)]
fn span(low: f64, value: f64, high: f64, length: usize) -> String {
    let place = |share: f64| (share.clamp(0.0, 1.0) * (length - 1) as f64).round() as usize;
    let (low, value, high) = (place(low), place(value), place(high));
    (0..length)
        .map(|place| match place {
            _ if place == value => 'o',
            _ if (low..=high).contains(&place) => '─',
            _ => '·',
        })
        .collect()
}

fn logistic(logit: f64) -> f64 {
    1.0 / (1.0 + (-logit).exp())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn intervals_on_a_line() {
        assert_eq!(span(0.3, 0.5, 0.7, 11), "···──o──···");
        assert_eq!(span(0.0, 0.0, 0.1, 11), "o─·········");
        assert_eq!(span(1.0, 1.0, 1.0, 11), "··········o");
    }
}
