//! The standings.

use myonym_wire::StandingRow;
use ratatui::text::{Line, Span};

use crate::text;
use crate::theme::Theme;
use crate::words;

/// The first places of `of`. A student who is not listed has a place without a name.
pub(crate) fn standings(rows: &[StandingRow], of: Option<u32>, width: usize) -> Vec<Line<'static>> {
    let room = width.saturating_sub(PLACE + POINTS + 2).min(LONGEST_NAME);
    let decimals = decimals(rows);
    let mut lines: Vec<_> = rows
        .iter()
        .map(|row| {
            let name = row.name.as_deref().unwrap_or("(not listed)");
            Line::from(vec![
                Span::styled(text::pad_left(&row.place.to_string(), PLACE), Theme::STRONG),
                Span::raw(format!("  {}", text::pad(name, room))),
                Span::raw(text::pad_left(&words::points_to(row.points, decimals), POINTS)),
            ])
        })
        .collect();
    // A first place that everyone has says nothing.
    if rows.iter().all(|row| row.place == 1 && words::points(row.points) == "0") {
        lines = vec![Line::raw("No points yet.")];
    }
    if let Some(of) = of {
        lines.push(Line::default());
        lines.push(Line::raw(format!("{} in all", words::count(of, "student", "students"))));
    }
    lines
}

/// The fewest decimals, at most two, at which neighbours of different places read differently.
fn decimals(rows: &[StandingRow]) -> usize {
    let tell_apart = |decimals: usize| {
        let said = |row: &StandingRow| words::points_to(row.points, decimals);
        rows.windows(2)
            .all(|pair| pair[0].place == pair[1].place || said(&pair[0]) != said(&pair[1]))
    };
    (0..2).find(|decimals| tell_apart(*decimals)).unwrap_or(2)
}

const PLACE: usize = 4;
const POINTS: usize = 12;
const LONGEST_NAME: usize = 32;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_are_as_fine_as_the_places_need() {
        let check = |points: &[(u32, f64)], want: usize| {
            let row = |&(place, points): &(u32, f64)| StandingRow { place, name: None, points };
            let rows: Vec<_> = points.iter().map(row).collect();
            assert_eq!(decimals(&rows), want, "{points:?}");
        };
        check(&[], 0);
        check(&[(1, 251.25), (2, 230.0)], 0);
        check(&[(1, 251.25), (1, 251.25)], 0);
        check(&[(1, 251.3), (2, 250.9)], 1);
        check(&[(1, 251.24), (2, 251.22)], 2);
    }

    #[test]
    fn nobody_leads_before_there_are_points() {
        let row = |place, points| StandingRow { place, name: None, points };
        let first = |rows: &[StandingRow]| standings(rows, None, 40)[0].to_string();
        assert_eq!(first(&[row(1, 0.0), row(1, 0.0)]), "No points yet.");
        assert!(first(&[row(1, 0.0), row(2, -3.0)]).contains("(not listed)"));
    }
}
