//! The analysis as plain text for a terminal.

mod muscles;
mod progress;
mod shares;

use super::super::text::{Column, page_width, paragraph, plain, table};
use super::words;
use crate::analysis::{Analysis, Teach};

/// The analysis as plain text, `width` columns wide (taken as at least 40 and at most 120; 60 and
/// more read well). No colour. Beside names and typed text it holds ASCII, and bars of block and
/// line characters that only repeat the numbers beside them.
pub fn terminal(found: &Analysis, width: u16) -> String {
    let width = page_width(width);
    let mut parts = vec![head(found, width)];
    if !words::is_empty(found) {
        parts.extend([
            teach(&found.teach, width),
            muscles::pairs(&found.pairs, width),
            muscles::apart(found, width),
            shares::contrasts(&found.contrasts, width),
            muscles::hardest(&found.items, width),
            muscles::pictures(&found.items, width),
            muscles::flags(&found.items, width),
            shares::cues(&found.cues, width),
            shares::areas(&found.areas, width),
            progress::progress(&found.progress, width),
            progress::reliability(&found.reliability, width),
            shares::movements(&found.movements, width),
            muscles::forms(&found.items, width),
            muscles::unclear(&found.unclear, width),
            paragraph(&legend(width), width),
        ]);
    }
    parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join("\n")
}

fn legend(width: u16) -> String {
    let near = if width >= WIDEST { NEAR } else { "" };
    format!("{LEGEND}{near}")
}

/// What to teach, what that rests on, and what to beware of.
fn head(found: &Analysis, width: u16) -> String {
    let mut text = paragraph(&plain(&format!("{}.", words::headline(found))), width);
    if let Some(next) = words::afterwards(found) {
        text.push_str(&paragraph(&plain(&next), width));
    }
    text.push('\n');
    if words::is_empty(found) {
        text.push_str(&paragraph(words::NOTHING_YET, width));
    } else {
        text.push_str(&paragraph(&plain(&words::basis(found)), width));
    }
    for note in words::notes(found) {
        text.push_str(&paragraph(&format!("Beware: {note}"), width));
    }
    text
}

/// The first things to teach again, each with what tells the two muscles apart.
fn teach(teach: &[Teach], width: u16) -> String {
    let cards = (1u8..).zip(teach).take(words::TEACH_FIRST).map(|(number, thing)| {
        let stake = words::at_stake(thing).map(|stake| format!(" {stake}")).unwrap_or_default();
        format!(
            "{}{}{}",
            paragraph(&plain(&format!("{number}. {}", thing.headline)), width),
            paragraph(&plain(&format!("{}{stake}", thing.sentence)), width),
            contrast(thing, width),
        )
    });
    let cards: Vec<String> = cards.collect();
    if cards.is_empty() {
        return String::new();
    }
    format!("What to teach again\n\n{}", cards.join("\n"))
}

/// Two muscles side by side; nothing if the thing to teach is not a pair.
fn contrast(thing: &Teach, width: u16) -> String {
    let [first, second] = thing.muscles.as_slice() else { return String::new() };
    let side = |side: &str| if side.is_empty() { "-".to_owned() } else { plain(side) };
    let rows: Vec<Vec<String>> = (thing.apart.iter().chain(&thing.line_of_pull))
        .map(|apart| vec![plain(&apart.aspect), side(&apart.first), side(&apart.second)])
        .collect();
    if rows.is_empty() {
        return String::new();
    }
    let (first, second) = (plain(&first.name), plain(&second.name));
    let header =
        [("", Column::Wraps), (first.as_str(), Column::Wraps), (second.as_str(), Column::Wraps)];
    format!("\n{}", table(&header, rows, width))
}

/// A table of those columns for which there is room: each appears from a width on.
fn fitted(
    columns: &[(&str, Column, u16)],
    rows: impl IntoIterator<Item = Vec<String>>,
    width: u16,
) -> String {
    let shown = |place: usize| columns.get(place).is_some_and(|(_, _, from)| width >= *from);
    let header: Vec<(&str, Column)> = (columns.iter().filter(|(_, _, from)| width >= *from))
        .map(|(title, kind, _)| (*title, *kind))
        .collect();
    let rows = rows.into_iter().map(|row| {
        let kept = row.into_iter().enumerate().filter(|(place, _)| shown(*place));
        kept.map(|(_, cell)| cell).collect()
    });
    table(&header, rows, width)
}

/// From this width on there is room for bars.
const FAIR: u16 = 56;
/// From this width on there is room for most columns.
const WIDE: u16 = 76;
/// From this width on there is room for every column.
const WIDEST: u16 = 90;

const NEAR: &str = " A near-miss (near) is a wrong answer that earned some credit.";
const LEGEND: &str = "Shares are of the students asked, including the silent (present, but no \
    answer); absent students are not counted. Of pairs they are of the answers given. In brackets stands the 95 % interval, in percent. \
    Expected: the share drawn towards that of like pairs. With rest: correlation of being right \
    here with the share right elsewhere; near 0 or below, look at the question first. Time is the \
    median of the right answers.";
