//! What needs no picture: movements, spelling, reliability, and how to read it all.

use maud::{Markup, html};

use super::super::words;
use super::tables::{Holds, number, of, or_dash, share, signed, table, text};
use crate::analysis::Analysis;

const MOST_INSTEAD: usize = 3;

/// Movements where they were asked for.
pub(super) fn movements(found: &Analysis) -> Option<Markup> {
    if found.movements.is_empty() {
        return None;
    }
    let columns = [
        ("Movement of", Holds::Text),
        ("Right", Holds::Number),
        ("Share right", Holds::Number),
        ("Said instead", Holds::Text),
    ];
    let rows = found.movements.iter().map(|movement| {
        let instead = movement.instead.iter().take(MOST_INSTEAD);
        let instead: Vec<String> =
            instead.map(|said| format!("{} ({})", said.movement, said.count)).collect();
        vec![
            text(&movement.name),
            of(movement.right, movement.asked),
            text(&share(&movement.rate_right)),
            or_dash((!instead.is_empty()).then(|| instead.join(", "))),
        ]
    });
    Some(table("Movements, hardest first", &columns, rows))
}

/// Choices between two muscles.
pub(super) fn contrasts(found: &Analysis) -> Option<Markup> {
    if found.contrasts.is_empty() {
        return None;
    }
    let columns = [
        ("Described", Holds::Text),
        ("Offered beside it", Holds::Text),
        ("Right", Holds::Number),
        ("Share right", Holds::Number),
        ("Chose the other", Holds::Number),
        ("Gave no answer", Holds::Number),
    ];
    let rows = found.contrasts.iter().map(|chosen| {
        vec![
            text(&chosen.asked.name),
            text(&chosen.other.name),
            of(chosen.right, chosen.shown),
            text(&share(&chosen.rate)),
            number(chosen.wrong),
            number(chosen.silent),
        ]
    });
    Some(html! {
        (table("Choices between two muscles, hardest first, with 95 % intervals", &columns, rows))
        p { (words::OF_TWO) }
    })
}

/// Misspelt forms, by muscle.
pub(super) fn forms(found: &Analysis) -> Option<Markup> {
    let mut misspelt: Vec<_> = found.items.iter().filter(|item| !item.forms.is_empty()).collect();
    misspelt.sort_by_key(|item| {
        let all: u32 = item.forms.iter().map(|(_, count)| *count).sum();
        (u32::MAX - all, item.muscle.name.clone())
    });
    if misspelt.is_empty() {
        return None;
    }
    let columns = [("Muscle", Holds::Text), ("Misspelt", Holds::Number), ("Typed", Holds::Text)];
    let rows = misspelt.into_iter().map(|item| {
        let forms = item.forms.iter().map(|(form, count)| format!("{form} ({count})"));
        vec![
            text(&item.muscle.name),
            or_dash(item.misspelt.map(|share| format!("{:.0} %", share * 100.0))),
            text(&forms.collect::<Vec<_>>().join(", ")),
        ]
    });
    Some(table("Misspelt names, commonest first", &columns, rows))
}

/// Names typed that fit several muscles or none.
pub(super) fn unclear(found: &Analysis) -> Option<Markup> {
    if found.unclear.is_empty() {
        return None;
    }
    let columns = [
        ("Typed", Holds::Text),
        ("Why it was no answer", Holds::Text),
        ("Students", Holds::Number),
        ("When asked for", Holds::Text),
    ];
    let rows = found.unclear.iter().map(|form| {
        vec![
            text(&form.typed),
            text(words::unclear(form.why)),
            number(form.count),
            text(&form.asked_name),
        ]
    });
    Some(table("Names typed that were no answer, commonest first", &columns, rows))
}

/// Reliability of each review, with its words.
pub(super) fn reliability(found: &Analysis) -> Option<Markup> {
    if found.reliability.is_empty() {
        return None;
    }
    let columns = [
        ("Review", Holds::Text),
        ("Students throughout", Holds::Number),
        ("Rounds", Holds::Number),
        ("KR-20", Holds::Number),
        ("Standard error, rounds", Holds::Number),
        ("What to make of it", Holds::Text),
    ];
    let rows = found.reliability.iter().map(|line| {
        vec![
            text(&line.word),
            number(line.persons),
            number(line.rounds),
            or_dash(line.kr20.map(signed)),
            or_dash(line.standard_error.map(|error| format!("{error:.1}"))),
            text(&line.words),
        ]
    });
    Some(table("Reliability, review by review", &columns, rows))
}

/// What the words and numbers mean.
pub(super) fn how_to_read(found: &Analysis) -> Option<Markup> {
    (!words::is_empty(found)).then(|| {
        html! {
            dl {
                @for (term, meaning) in words::HOW_TO_READ {
                    dt { (term) }
                    dd { (meaning) }
                }
            }
            p { "Formulas and where they are published stand under "
                a href="#appendix" { "All numbers" } "." }
        }
    })
}
