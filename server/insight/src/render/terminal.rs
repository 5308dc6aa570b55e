//! The report as a page of plain text.

use myonym_engine::AskedAgainWhy;

use super::text::{
    Column, bar, count, more, number_of, page_width, paragraph, plain, seconds, section, share,
    table,
};
use crate::apart;
use crate::predicted::Predicted;
use crate::report::{Report, ReportPair, ReviewInfo, TOO_FEW};
use crate::rows::Hard;

/// The report as plain text, `width` columns wide (taken as at least 40 and at most 120; 60 and
/// more read well). No colour; nothing but ASCII beside what names and typed text bring along.
pub fn terminal(report: &Report, width: u16) -> String {
    let width = page_width(width);
    if report.is_empty() {
        return paragraph(&nothing_yet(&report.reviews), width);
    }
    let sections = [
        paragraph(&headline(report), width),
        basis(report, width),
        muscles(&report.hardest, width),
        pictures(&report.hardest, width),
        pairs(&report.pairs, width),
        unclear(report, width),
        misspelt(report, width),
        movements(&report.movements, width),
        paragraph(LEGEND, width),
    ];
    sections.into_iter().filter(|section| !section.is_empty()).collect::<Vec<_>>().join("\n")
}

/// The reviews as a table in the order given, numbered from 1 so that one can be asked for.
pub fn list(reviews: &[ReviewInfo], width: u16) -> String {
    let width = page_width(width);
    if reviews.is_empty() {
        return paragraph(&nothing_yet(reviews), width);
    }
    let row = |(number, review): (usize, &ReviewInfo)| {
        vec![
            (number + 1).to_string(),
            plain(&review.opened),
            format!("{}{}\n{}", plain(&review.word), state(review), held_for(review)),
            review.students.to_string(),
            review.rounds.to_string(),
        ]
    };
    let header = [
        ("no.", Column::Number),
        ("opened", Column::Keeps),
        ("join word, section, muscle list", Column::Wraps),
        ("students", Column::Number),
        ("rounds", Column::Number),
    ];
    table(&header, reviews.iter().enumerate().map(row), width)
}

/// The section, where there is one, and the muscle list.
fn held_for(review: &ReviewInfo) -> String {
    match &review.section {
        Some(section) => plain(&format!("{section}, {}", review.list)),
        None => plain(&review.list),
    }
}

/// What sets a review apart from one that is over.
fn state(review: &ReviewInfo) -> &'static str {
    match (review.ended, review.rehearsal) {
        (true, false) => "",
        (false, false) => ", not over",
        (true, true) => ", rehearsal",
        (false, true) => ", rehearsal, not over",
    }
}

fn nothing_yet(reviews: &[ReviewInfo]) -> String {
    let what = match reviews {
        [] => "No review has been held yet.".to_owned(),
        [one] => format!("No round of {} has been revealed to a class yet.", plain(&one.word)),
        _ => "No round of these reviews has been revealed to a class yet.".to_owned(),
    };
    format!(
        "{what} There is nothing to report. Open a review, let the class answer a round and \
         reveal it; then ask for the report again."
    )
}

/// What to teach first, and why.
fn headline(report: &Report) -> String {
    let Some((hard, pair)) = report.teach_first() else {
        return match report.teach_movement_first() {
            None => "Nothing to re-teach: every answer was right.".to_owned(),
            Some(Predicted { name, right, asked, .. }) => plain(&format!(
                "Re-teach first: what {name} does. {right} of {asked} had it right."
            )),
        };
    };
    let Hard { name, right, silent, asked, .. } = hard;
    let why = match pair {
        None if silent > right => format!("{silent} of {asked} gave no answer."),
        None => format!("{right} of {asked} named it."),
        Some(pair) => {
            let count = pair.confused.count;
            let said = format!("said {}{}", pair.confused.said_name, colon_apart(pair));
            if *silent > count {
                format!("{silent} of {asked} gave no answer, {count} {said}.")
            } else {
                format!("{count} of {asked} {said}.")
            }
        }
    };
    plain(&format!("Re-teach first: {name}. {why}"))
}

fn colon_apart(pair: &ReportPair) -> String {
    apart_sentence(pair).map(|sentence| format!(": {sentence}")).unwrap_or_default()
}

fn apart_sentence(pair: &ReportPair) -> Option<String> {
    let apart = pair.apart.as_ref()?;
    Some(apart::sentence(&pair.confused.asked_name, &pair.confused.said_name, apart))
}

/// What the numbers rest on, and how far to trust them.
fn basis(report: &Report, width: u16) -> String {
    let totals = report.totals;
    let mut text = paragraph(
        &format!(
            "Based on {} and {} in {} of {}:",
            number_of(totals.answers, "answer"),
            number_of(totals.silent, "silence"),
            number_of(totals.rounds, "round"),
            number_of(count(report.reviews.len()), "review"),
        ),
        width,
    );
    for review in report.reviews.iter().take(MOST_REVIEWS) {
        let ReviewInfo { word, opened, list, students, .. } = review;
        let students = number_of(*students, "student");
        let line = format!("- {word}, {opened}, {list}, {students}{}", state(review));
        text.push_str(&paragraph(&plain(&line), width));
    }
    text.push_str(&more(report.reviews.len(), MOST_REVIEWS, "review"));
    for note in notes(report) {
        text.push_str(&paragraph(&note, width));
    }
    text
}

fn notes(report: &Report) -> Vec<String> {
    let mut notes = Vec::new();
    let students = report.most_students();
    if !report.reviews.is_empty() && students < TOO_FEW {
        notes.push(format!(
            "Note: {} are too few to say what a class knows.",
            number_of(students, "student")
        ));
    }
    let rehearsals = report.reviews.iter().filter(|review| review.rehearsal).count();
    if rehearsals > 0 {
        let rehearsals = number_of(count(rehearsals), "rehearsal");
        notes.push(format!("Note: this counts {rehearsals}, answered by simulated students."));
    }
    notes
}

fn muscles(hardest: &[Hard], width: u16) -> String {
    let wide = width >= WIDE;
    let bar_width = if wide { 10 } else { 5 };
    let row = |hard: &Hard| {
        let mut row = vec![
            plain(&hard.name),
            format!("{} of {}", hard.right, hard.asked),
            share(&hard.rate_right),
            bar(hard.rate_right.value, bar_width),
        ];
        if wide {
            row.extend([hard.near.to_string(), hard.silent.to_string()]);
        }
        row.push(hard.median_ms.map_or_else(|| "-".to_owned(), seconds));
        row
    };
    let mut header = vec![
        ("muscle", Column::Wraps),
        ("right", Column::Number),
        ("share right", Column::Number),
        ("", Column::Keeps),
    ];
    if wide {
        header.extend([("near", Column::Number), ("silent", Column::Number)]);
    }
    header.push(("time", Column::Number));
    section("Muscles, hardest first", hardest, MOST_ROWS, "muscle", |shown| {
        table(&header, shown.iter().map(row), width)
    })
}

/// Names from a picture beside names from clues, where there were pictures.
fn pictures(hardest: &[Hard], width: u16) -> String {
    let pictured: Vec<&Hard> = hardest.iter().filter(|hard| hard.pictured > 0).collect();
    let of = |right: u32, asked: u32| match asked {
        0 => "-".to_owned(),
        _ => format!("{right} of {asked}"),
    };
    let row = |hard: &&Hard| {
        let (right, asked) = (hard.right - hard.pictured_right, hard.asked - hard.pictured);
        vec![plain(&hard.name), of(hard.pictured_right, hard.pictured), of(right, asked)]
    };
    let header = [
        ("muscle", Column::Wraps),
        ("right from a picture", Column::Number),
        ("from clues", Column::Number),
    ];
    section("Named from a picture", &pictured, MOST_ROWS, "muscle", |shown| {
        table(&header, shown.iter().map(row), width)
    })
}

/// Movements where they were asked for, and what was said instead.
fn movements(movements: &[Predicted], width: u16) -> String {
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
    section(
        "Movements told from attachments, hardest first",
        movements,
        MOST_ROWS,
        "muscle",
        |shown| table(&header, shown.iter().map(row), width),
    )
}

fn pairs(pairs: &[ReportPair], width: u16) -> String {
    let row = |pair: &ReportPair| {
        let confused = &pair.confused;
        let names = plain(&format!("{} -> {}", confused.asked_name, confused.said_name));
        // The empty line at the end keeps the rows apart.
        let what = match apart_sentence(pair) {
            Some(sentence) => format!("{names}\n{}\n ", plain(&sentence)),
            None => format!("{names}\n "),
        };
        vec![what, format!("{} of {}", confused.count, confused.of), share(&confused.rate)]
    };
    let header =
        [("asked -> said", Column::Wraps), ("students", Column::Number), ("share", Column::Number)];
    section("Confused pairs, clearest first", pairs, MOST_ROWS, "pair", |shown| {
        let rows = table(&header, shown.iter().map(row), width);
        format!("{}\n", rows.trim_end())
    })
}

fn unclear(report: &Report, width: u16) -> String {
    let header = [
        ("typed", Column::Wraps),
        ("students", Column::Number),
        ("asked", Column::Wraps),
        ("why", Column::Wraps),
    ];
    section(
        "Unclear names (the student was asked again)",
        &report.unclear,
        MOST_FORMS,
        "name",
        |shown| {
            let rows = shown.iter().map(|form| {
                let why = match form.why {
                    AskedAgainWhy::WhichOne => "fits several muscles",
                    AskedAgainWhy::UnknownName => "fits no muscle",
                };
                let count = form.count.to_string();
                vec![plain(&form.typed), count, plain(&form.asked_name), why.to_owned()]
            });
            table(&header, rows, width)
        },
    )
}

fn misspelt(report: &Report, width: u16) -> String {
    let header =
        [("typed", Column::Wraps), ("answers", Column::Number), ("muscle meant", Column::Wraps)];
    section("Misspelt names", &report.misspelt, MOST_FORMS, "name", |shown| {
        let rows = shown
            .iter()
            .map(|form| vec![plain(&form.typed), form.count.to_string(), plain(&form.name)]);
        table(&header, rows, width)
    })
}

/// From this width on there is room for every column.
const WIDE: u16 = 76;
const MOST_ROWS: usize = 12;
const MOST_FORMS: usize = 6;
const MOST_INSTEAD: usize = 3;
const MOST_REVIEWS: usize = 5;
const LEGEND: &str = "Shares are of the students asked, including the silent (present, but no \
    answer); absent students are not counted. In brackets stands the 95 % Wilson interval, in \
    percent. Time is the median of the right answers. A near-miss (near) is a wrong answer that \
    earned some credit.";
