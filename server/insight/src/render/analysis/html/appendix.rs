//! All numbers, and where their formulas are published.

use maud::{Markup, html};

use super::super::words;
use super::confusions;
use super::items::hardest;
use super::tables::{Holds, number, or_dash, percent, share, signed, table, text};
use crate::analysis::{Analysis, Item, Pair, ReviewLine};

/// The tables that the sections above only begin.
pub(super) fn section(found: &Analysis) -> Option<Markup> {
    if words::is_empty(found) {
        return None;
    }
    Some(html! {
        h3 { "Reviews" }
        (reviews(&found.basis.reviews))
        @if !found.items.is_empty() {
            h3 { "Muscles" }
            (hardest("How every muscle was answered", &found.items))
            (scaled(&found.items))
            @if found.basis.persons < words::ENOUGH_FOR_THIRDS {
                p { "Best less weakest is left out below " (words::ENOUGH_FOR_THIRDS) " students." }
            }
            @if found.items.iter().any(|item| !item.instead.is_empty()) {
                (instead(&found.items))
            }
        }
        @if !found.pairs.is_empty() {
            h3 { "Confused pairs" }
            (confusions::pairs("All confused pairs", &found.pairs))
            (tested(&found.pairs))
        }
        h3 { "Formulas and sources" }
        (sources())
    })
}

fn reviews(reviews: &[ReviewLine]) -> Markup {
    let columns = [
        ("Review", Holds::Text),
        ("Opened", Holds::Text),
        ("Section", Holds::Text),
        ("Muscle list", Holds::Text),
        ("Students", Holds::Number),
        ("Rounds", Holds::Number),
    ];
    let rows = reviews.iter().map(|line| {
        vec![
            text(&line.word),
            text(&line.opened),
            text(words::section(line.section.as_deref())),
            text(&line.list),
            number(line.persons),
            number(line.rounds),
        ]
    });
    table("Reviews that this rests on", &columns, rows)
}

fn scaled(items: &[Item]) -> Markup {
    let columns = [
        ("Muscle", Holds::Text),
        ("Rounds", Holds::Number),
        ("Logits (standard error)", Holds::Number),
        ("Best less weakest", Holds::Number),
        ("No answer at the close", Holds::Number),
        ("Time ran out", Holds::Number),
        ("Misspelt", Holds::Number),
    ];
    let rows = items.iter().map(|item| {
        vec![
            text(&item.muscle.name),
            number(item.rounds),
            or_dash(item.logit.map(|(logit, error)| format!("{} ({error:.2})", signed(logit)))),
            or_dash(item.upper_lower.map(signed)),
            number(item.omitted),
            number(item.timed_out),
            or_dash(item.misspelt.map(percent)),
        ]
    });
    table("Every muscle on the common scale", &columns, rows)
}

fn instead(items: &[Item]) -> Markup {
    let columns = [
        ("Asked", Holds::Text),
        ("Answered instead", Holds::Text),
        ("Students", Holds::Number),
        ("Their share right elsewhere", Holds::Number),
        ("Goes with the rest", Holds::Number),
    ];
    let rows = items.iter().flat_map(|item| {
        item.instead.iter().map(|said| {
            vec![
                text(&item.muscle.name),
                text(&said.said.name),
                number(said.count),
                or_dash(said.rest_mean.map(percent)),
                or_dash(said.correlation.map(signed)),
            ]
        })
    });
    table("What was answered instead", &columns, rows)
}

fn tested(pairs: &[Pair]) -> Markup {
    let columns = [
        ("Asked → answered", Holds::Text),
        ("Both ways", Holds::Number),
        ("p", Holds::Number),
        ("p, corrected", Holds::Number),
        ("Likeness", Holds::Number),
        ("Favourite guess", Holds::Number),
        ("Stands out", Holds::Text),
        ("Neighbours", Holds::Text),
    ];
    let rows = pairs.iter().map(|pair| {
        let chances = words::chances(pair.direction);
        vec![
            html! { (pair.asked.name) " → " (pair.said.name) },
            or_dash(pair.either.as_ref().map(share)),
            or_dash(chances.map(|(p, _)| format!("{p:.4}"))),
            or_dash(chances.map(|(_, q)| format!("{q:.4}"))),
            or_dash(pair.similarity.map(|likeness| format!("{likeness:.2}"))),
            or_dash(pair.favourite.map(|times| format!("× {times:.1}"))),
            text(yes_or_no(pair.stands_out)),
            text(yes_or_no(pair.neighbours)),
        ]
    });
    table("Confused pairs: both ways, tests and likeness", &columns, rows)
}

fn yes_or_no(truth: bool) -> &'static str {
    if truth { "yes" } else { "no" }
}

fn sources() -> Markup {
    let columns = [("Number", Holds::Text), ("Formula", Holds::Text), ("Source", Holds::Text)];
    let rows = words::SOURCES
        .iter()
        .map(|(what, formula, source)| vec![text(what), text(formula), text(source)]);
    table("Formulas and where they are published", &columns, rows)
}
