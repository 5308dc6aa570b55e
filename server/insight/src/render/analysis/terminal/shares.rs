//! Shares of clues, areas and movements.

use super::super::super::text::{Column, blocks, paragraph, plain, section, share, table};
use super::super::words;
use super::{FAIR, WIDE, fitted};
use crate::analysis::{Area, Chosen, CueFound};
use crate::predicted::Predicted;

const MOST_CUES: usize = 8;
const MOST_AREAS: usize = 6;
const MOST_MOVEMENTS: usize = 8;
const MOST_CHOICES: usize = 12;
const MOST_INSTEAD: usize = 3;

/// What the class overlooks in clues.
pub(super) fn cues(cues: &[CueFound], width: u16) -> String {
    let bar = bar_width(width);
    let row = |cue: &CueFound| {
        vec![
            plain(&cue.about),
            words::aspect(cue.aspect).to_owned(),
            format!("{} of {}", cue.overlooked, cue.shown),
            share(&cue.rate),
            blocks(cue.rate.value, bar),
        ]
    };
    let columns = [
        ("clue about", Column::Wraps, 0),
        ("kind", Column::Keeps, FAIR),
        ("answers", Column::Number, 0),
        ("overlooked", Column::Number, 0),
        ("", Column::Keeps, FAIR),
    ];
    section("What the class overlooks in clues", cues, MOST_CUES, "clue", |shown| {
        fitted(&columns, shown.iter().map(row), width)
    })
}

/// Strong and weak areas, kind by kind.
pub(super) fn areas(areas: &[Area], width: u16) -> String {
    let bar = bar_width(width);
    let of_kind = words::AREAS.iter().map(|(kind, title)| {
        let areas: Vec<&Area> = areas.iter().filter(|area| area.kind == *kind).collect();
        let row = |area: &&Area| {
            vec![
                plain(&area.name),
                format!("{} of {}", area.right, area.of),
                share(&area.rate),
                blocks(area.rate.value, bar),
            ]
        };
        let columns = [
            ("area", Column::Wraps, 0),
            ("right", Column::Number, 0),
            ("share", Column::Number, 0),
            ("", Column::Keeps, FAIR),
        ];
        section(title, &areas, MOST_AREAS, "area", |shown| {
            fitted(&columns, shown.iter().map(row), width)
        })
    });
    of_kind.filter(|part| !part.is_empty()).collect::<Vec<_>>().join("\n")
}

/// Movements where they were asked for, and what was said instead.
pub(super) fn movements(movements: &[Predicted], width: u16) -> String {
    let row = |predicted: &Predicted| {
        let said = predicted.instead.iter().take(MOST_INSTEAD);
        let said: Vec<String> =
            said.map(|said| format!("{} ({})", plain(&said.movement), said.count)).collect();
        vec![
            plain(&predicted.name),
            format!("{} of {}", predicted.right, predicted.asked),
            share(&predicted.rate_right),
            if said.is_empty() { "-".to_owned() } else { said.join(", ") },
        ]
    };
    let header = [
        ("movement of", Column::Wraps),
        ("right", Column::Number),
        ("share right", Column::Number),
        ("said instead", Column::Wraps),
    ];
    let title = "Movements told, hardest first";
    section(title, movements, MOST_MOVEMENTS, "muscle", |shown| {
        table(&header, shown.iter().map(row), width)
    })
}

/// Choices between two muscles.
pub(super) fn contrasts(contrasts: &[Chosen], width: u16) -> String {
    let row = |chosen: &Chosen| {
        vec![
            plain(&format!("{}, not {}", chosen.asked.name, chosen.other.name)),
            format!("{} of {}", chosen.right, chosen.shown),
            share(&chosen.rate),
            chosen.wrong.to_string(),
            chosen.silent.to_string(),
        ]
    };
    let columns = [
        ("described, offered beside", Column::Wraps, 0),
        ("right", Column::Number, 0),
        ("share right", Column::Number, 0),
        ("wrong", Column::Number, FAIR),
        ("silent", Column::Number, FAIR),
    ];
    let title = "Two muscles told apart, hardest first";
    let rows = section(title, contrasts, MOST_CHOICES, "choice", |shown| {
        fitted(&columns, shown.iter().map(row), width)
    });
    if rows.is_empty() { rows } else { rows + &paragraph(words::OF_TWO, width) }
}

fn bar_width(width: u16) -> u16 {
    if width >= WIDE { 10 } else { 5 }
}
