//! How the answers of a class are spread over names.

use myonym_wire::{Reveal, SpreadRow, Task, Verdict};
use ratatui::text::{Line, Span};

use super::bar;
use crate::text;
use crate::theme::Theme;

/// One line for each name with its verdict, a bar and a count, then those without an answer.
/// `reveal` tells what was right, once that may be told: under strict spelling a right name can be
/// wrong. `own` is the student's own answer, to be marked.
pub(crate) fn spread(
    theme: Theme,
    rows: &[SpreadRow],
    silent: u32,
    reveal: Option<&Reveal>,
    own: Option<(&str, Verdict)>,
    width: usize,
) -> Vec<Line<'static>> {
    let most = rows.iter().map(|row| row.count).chain([silent]).max().unwrap_or(0);
    let name_room = (width / 2).min(LONGEST_NAME);
    let bar_room = width.saturating_sub(name_room + SIGN + COUNT + YOURS.len());
    let line = |verdict: Verdict, name: &str, count: u32| {
        let is_right = |reveal: &Reveal| match reveal.task {
            Task::Name | Task::Picture | Task::Contrast => reveal.answer.name == name,
            Task::Movement => reveal.movements.iter().any(|right| right == name),
        };
        let is_misspelt = reveal.is_some_and(is_right) && verdict != Verdict::Right;
        let said = if is_misspelt { format!("{name}, misspelt") } else { name.to_owned() };
        let mut spans = vec![
            Span::styled(crate::words::sign(verdict), theme.verdict(verdict)),
            Span::raw(format!(" {} ", text::pad(&said, name_room))),
        ];
        spans.extend(bar(bar_room, count.into(), most.into()));
        spans.push(Span::raw(format!("{count:>5}")));
        if own == Some((name, verdict)) {
            spans.push(Span::styled(YOURS, Theme::STRONG));
        }
        Line::from(spans)
    };
    let mut lines: Vec<_> =
        rows.iter().map(|row| line(row.verdict, &row.name, row.count)).collect();
    if silent > 0 {
        lines.push(line(Verdict::Silent, "no answer", silent));
    }
    lines
}

const LONGEST_NAME: usize = 32;
/// The sign, and the spaces on both sides of the name.
const SIGN: usize = 5;
const COUNT: usize = 5;
const YOURS: &str = "  yours";

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples;

    #[test]
    fn a_misspelt_answer_is_told_from_the_right_one() {
        let row = |verdict| SpreadRow { name: "deltoid".to_owned(), count: 1, verdict };
        let rows = [row(Verdict::Right), row(Verdict::Wrong)];
        let theme = Theme::with_colour(false);
        let mut reveal = samples::reveal();
        reveal.answer.name = "deltoid".to_owned();
        let own = Some(("deltoid", Verdict::Right));
        let lines = spread(theme, &rows, 0, Some(&reveal), own, 60);
        let holds = |said: &str| -> Vec<bool> {
            lines.iter().map(|line| line.to_string().contains(said)).collect()
        };
        assert_eq!(holds("deltoid, misspelt"), [false, true]);
        assert_eq!(holds("yours"), [true, false]);
    }
}
