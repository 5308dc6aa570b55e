//! Students' own results as plain text. Names come from the host, for this page alone.

use myonym_wire::{Task, Verdict};

use super::text::{Column, number_of, page_width, paragraph, plain, seconds, table};
use crate::apart;
use crate::own::{LookAgain, OwnRound, OwnTotals};

/// One student's own page: `name` is whose.
pub fn own_page(name: &str, rounds: &[OwnRound], again: &[LookAgain], width: u16) -> String {
    let width = page_width(width);
    let mut text = paragraph(&plain(&format!("Your own results, {name}")), width);
    text.push('\n');
    text.push_str(&paragraph(&totals(OwnTotals::of(rounds)), width));
    if rounds.is_empty() {
        return text;
    }
    text.push_str("\nRound by round\n\n");
    text.push_str(&round_table(rounds, width));
    text.push_str("\nWhat to look at again\n\n");
    if again.is_empty() {
        text.push_str(&paragraph("Nothing: every answer was right.", width));
    }
    for one in again {
        text.push_str(&paragraph(&plain(&format!("- {}", look(one))), width));
    }
    text
}

/// All students with their numbers, one a line. `students` are names or pseudonyms.
pub fn own_list(students: &[(String, OwnTotals)], width: u16) -> String {
    let header = [
        ("student", Column::Wraps),
        ("asked", Column::Number),
        ("right", Column::Number),
        ("near", Column::Number),
        ("wrong", Column::Number),
        ("silent", Column::Number),
    ];
    let rows = students.iter().map(|(name, own)| {
        let numbers = [own.asked, own.right, own.near, own.wrong, own.silent];
        [plain(name)].into_iter().chain(numbers.map(|number| number.to_string())).collect()
    });
    format!("Students\n\n{}", table(&header, rows, page_width(width)))
}

fn totals(own: OwnTotals) -> String {
    format!(
        "Of {} you had {} right, {} nearly, {} wrong, and gave no answer in {}; {:.0} points.",
        number_of(own.asked, "round"),
        own.right,
        own.near,
        own.wrong,
        own.silent,
        own.points
    )
}

fn round_table(rounds: &[OwnRound], width: u16) -> String {
    let header = [
        ("review", Column::Keeps),
        ("round", Column::Number),
        ("asked", Column::Wraps),
        ("your answer", Column::Wraps),
        ("", Column::Keeps),
        ("time", Column::Number),
    ];
    let mut review = "";
    let rows = rounds.iter().map(|round| {
        let date = round.opened.split(' ').next().unwrap_or_default();
        let first = std::mem::replace(&mut review, round.word.as_str()) != round.word;
        let asked = match round.task {
            Task::Name => round.asked.name.clone(),
            Task::Picture => format!("{}, picture", round.asked.name),
            Task::Movement => format!("{}, movement", round.asked.name),
            Task::Contrast => format!("{}, one of two", round.asked.name),
        };
        let said = match (&round.said, round.verdict) {
            (Some(said), _) => plain(&said.name),
            (None, Verdict::Silent) => "-".to_owned(),
            (None, Verdict::Right | Verdict::Near | Verdict::Wrong) => "(no such name)".to_owned(),
        };
        vec![
            if first { plain(date) } else { String::new() },
            round.round.to_string(),
            plain(&asked),
            said,
            verdict(round.verdict).to_owned(),
            round.elapsed_ms.map_or_else(|| "-".to_owned(), seconds),
        ]
    });
    let rows: Vec<Vec<String>> = rows.collect();
    table(&header, rows, width)
}

fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Right => "right",
        Verdict::Near => "near",
        Verdict::Wrong => "wrong",
        Verdict::Silent => "no answer",
    }
}

fn look(again: &LookAgain) -> String {
    let name = &again.muscle.name;
    let what = if again.movement { format!("{name}: what it does") } else { name.clone() };
    let said: Vec<&str> = again.said.iter().map(|said| said.name.as_str()).collect();
    let times = if again.missed == 1 { String::new() } else { format!(" {} times", again.missed) };
    let missed = format!("{what}, missed{times}");
    match (&again.apart, said.first()) {
        (_, None) => format!("{missed}."),
        (None, Some(_)) => format!("{missed}; you said {}.", said.join(", ")),
        (Some(apart), Some(first)) => {
            let apart = apart::sentence(name, first, apart);
            format!("{missed}; you said {}: {apart}.", said.join(", "))
        }
    }
}
