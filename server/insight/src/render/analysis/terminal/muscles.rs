//! Confused pairs, the hardest muscles, and misspelt names.

use super::super::super::text::{Column, blocks, paragraph, plain, seconds, section, share, table};
use super::super::words;
use super::{FAIR, WIDE, WIDEST, fitted};
use crate::analysis::{Analysis, Item, Pair};
use crate::rows::Unclear;

const MOST_PAIRS: usize = 12;
const MOST_ITEMS: usize = 12;
const MOST_FLAGGED: usize = 8;
const MOST_FORMS: usize = 6;

/// Pairs, both ways round.
pub(super) fn pairs(pairs: &[Pair], width: u16) -> String {
    let row = |pair: &Pair| {
        let mut what = vec![plain(&format!("{} -> {}", pair.asked.name, pair.said.name))];
        what.push(words::pair(pair));
        // An empty line keeps the rows apart.
        what.push(" ".to_owned());
        let (shrunken, low, high) = (pair.shrunken, pair.shrunken_low, pair.shrunken_high);
        let (back, asked) = pair.back;
        vec![
            what.join("\n"),
            of(pair.count, pair.of),
            blocks(shrunken, 8),
            format!("{:.0} % ({:.0}-{:.0})", shrunken * 100.0, low * 100.0, high * 100.0),
            if asked > 0 { of(back, asked) } else { "-".to_owned() },
        ]
    };
    let columns = [
        ("asked -> answered", Column::Wraps, 0),
        ("answers", Column::Number, 0),
        ("", Column::Keeps, WIDE),
        ("expected", Column::Number, 0),
        ("other way", Column::Number, FAIR),
    ];
    section("Confused pairs, clearest first", pairs, MOST_PAIRS, "pair", |shown| {
        let rows = fitted(&columns, shown.iter().map(row), width);
        format!("{}\n", rows.trim_end())
    })
}

/// What tells the muscles of the clearest pairs apart, but for the pairs that are taught above.
pub(super) fn apart(found: &Analysis, width: u16) -> String {
    let taught = |pair: &&Pair| {
        let mut first = found.teach.iter().take(words::TEACH_FIRST);
        first.any(|teach| teach.muscles == [pair.asked.clone(), pair.said.clone()])
    };
    let pairs = found.pairs.iter().take(MOST_PAIRS).filter(|pair| !taught(pair));
    let lines: Vec<String> = pairs
        .flat_map(words::differences)
        .map(|line| paragraph(&plain(&format!("- {line}")), width))
        .collect();
    section("What tells these apart", &lines, MOST_PAIRS, "difference", <[String]>::concat)
}

/// The hardest muscles.
pub(super) fn hardest(items: &[Item], width: u16) -> String {
    let row = |item: &Item| {
        let silent = item.omitted.saturating_add(item.timed_out);
        let rest = item.rest_correlation.map(|rest| format!("{rest:+.2}"));
        vec![
            plain(&item.muscle.name),
            if item.flags.is_empty() { "" } else { "(!)" }.to_owned(),
            of(item.right, item.asked),
            share(&item.difficulty),
            blocks(item.difficulty.value, 6),
            rest.unwrap_or_else(|| "-".to_owned()),
            item.near.to_string(),
            silent.to_string(),
            item.median_ms.map_or_else(|| "-".to_owned(), seconds),
        ]
    };
    let columns = [
        ("muscle", Column::Wraps, 0),
        ("", Column::Keeps, 0),
        ("right", Column::Number, 0),
        ("share right", Column::Number, 0),
        ("", Column::Keeps, WIDE),
        ("with rest", Column::Number, WIDE),
        ("near", Column::Number, WIDEST),
        ("silent", Column::Number, WIDE),
        ("time", Column::Number, FAIR),
    ];
    section("Muscles, hardest first ((!): see below)", items, MOST_ITEMS, "muscle", |shown| {
        fitted(&columns, shown.iter().map(row), width)
    })
}

/// What is odd about muscles, in words.
pub(super) fn flags(items: &[Item], width: u16) -> String {
    let flagged: Vec<&Item> = items.iter().filter(|item| !item.flags.is_empty()).collect();
    section("(!) Look at these questions", &flagged, MOST_FLAGGED, "muscle", |shown| {
        let lines = shown.iter().flat_map(|item| {
            item.flags.iter().map(|flag| {
                let (name, kind) = (&item.muscle.name, words::flag(flag.kind));
                paragraph(&plain(&format!("{name} ({kind}): {}", flag.words)), width)
            })
        });
        lines.collect()
    })
}

/// Names from a picture beside names from clues, where there were pictures.
pub(super) fn pictures(items: &[Item], width: u16) -> String {
    let pictured: Vec<&Item> = items.iter().filter(|item| item.pictured > 0).collect();
    let share = |right: u32, asked: u32| match asked {
        0 => "-".to_owned(),
        _ => of(right, asked),
    };
    let row = |item: &&Item| {
        let (right, asked) = item.from_clues();
        vec![
            plain(&item.muscle.name),
            share(item.pictured_right, item.pictured),
            share(right, asked),
        ]
    };
    let header = [
        ("muscle", Column::Wraps),
        ("from a picture", Column::Number),
        ("from clues", Column::Number),
    ];
    let title = "Named from a picture, and from clues";
    section(title, &pictured, MOST_ITEMS, "muscle", |shown| {
        table(&header, shown.iter().map(row), width)
    })
}

/// Misspelt forms by the muscle meant.
pub(super) fn forms(items: &[Item], width: u16) -> String {
    let mut forms: Vec<(&str, u32, &str)> = items
        .iter()
        .flat_map(|item| {
            let name = item.muscle.name.as_str();
            item.forms.iter().map(move |(form, count)| (form.as_str(), *count, name))
        })
        .collect();
    forms.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(b.0)));
    let header =
        [("typed", Column::Wraps), ("answers", Column::Number), ("muscle meant", Column::Wraps)];
    section("Misspelt names", &forms, MOST_FORMS, "name", |shown| {
        let rows = shown
            .iter()
            .map(|(form, count, name)| vec![plain(form), count.to_string(), plain(name)]);
        table(&header, rows, width)
    })
}

/// Names typed that fit several muscles or none.
pub(super) fn unclear(forms: &[Unclear], width: u16) -> String {
    let header =
        [("typed", Column::Wraps), ("times", Column::Number), ("when asked for", Column::Wraps)];
    section("Names typed that were no answer", forms, MOST_FORMS, "name", |shown| {
        let rows = shown.iter().map(|form| {
            let typed = plain(&format!("{} ({})", form.typed, words::unclear(form.why)));
            vec![typed, form.count.to_string(), plain(&form.asked_name)]
        });
        table(&header, rows, width)
    })
}

/// `9 of 24`.
fn of(count: u32, of: u32) -> String {
    format!("{count} of {of}")
}
