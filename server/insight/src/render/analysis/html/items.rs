//! The hardest muscles, and the questions to look at.

use maud::{Markup, html};

use super::super::super::text::seconds;
use super::super::words;
use super::item_plot::item_plot;
use super::tables::{Holds, number, of, or_dash, share, signed, table, text};
use crate::analysis::{Analysis, Item};
use crate::estimate::wilson;

const MOST: usize = 12;

/// The plot, the flags in words and the hardest muscles.
pub(super) fn section(found: &Analysis) -> Option<Markup> {
    if found.items.is_empty() {
        return None;
    }
    let shown = &found.items[..found.items.len().min(MOST)];
    let flagged: Vec<&Item> = found.items.iter().filter(|item| !item.flags.is_empty()).collect();
    let listed = &flagged[..flagged.len().min(MOST)];
    Some(html! {
        (hardest("Of the students asked, with 95 % intervals", shown))
        @if !listed.is_empty() {
            h3 { "Look at these questions" }
            ul {
                @for item in listed {
                    @for flag in &item.flags {
                        li {
                            strong { (item.muscle.name) } " (" (words::flag(flag.kind)) "): "
                            (flag.words)
                        }
                    }
                }
            }
            @if listed.len() < flagged.len() {
                p { (flagged.len() - listed.len()) " more have flags; see the picture's numbers." }
            }
        }
        @if let Some(pictured) = pictured(&found.items) {
            h3 { "Named from a picture, and from clues in words" }
            (pictured)
        }
        @if let Some(plot) = item_plot(&found.items) { (plot) }
    })
}

/// How muscles were answered.
pub(super) fn hardest(caption: &str, items: &[Item]) -> Markup {
    let columns = [
        ("Muscle", Holds::Text),
        ("Right", Holds::Number),
        ("Share right", Holds::Number),
        ("Near-misses", Holds::Number),
        ("Goes with the rest", Holds::Number),
        ("Gave no answer", Holds::Number),
        ("Median time", Holds::Number),
        ("Clues needed", Holds::Number),
        ("Flags", Holds::Text),
    ];
    let rows = items.iter().map(|item| {
        vec![
            text(&item.muscle.name),
            of(item.right, item.asked),
            text(&share(&item.difficulty)),
            number(item.near),
            or_dash(item.rest_correlation.map(signed)),
            number(item.omitted.saturating_add(item.timed_out)),
            or_dash(item.median_ms.map(seconds)),
            or_dash(item.clues_needed.map(|clues| clues.to_string())),
            text(&words::flags(item)),
        ]
    });
    table(caption, &columns, rows)
}

/// Names from a picture beside names from clues, where there were pictures.
fn pictured(items: &[Item]) -> Option<Markup> {
    let pictured: Vec<&Item> = items.iter().filter(|item| item.pictured > 0).collect();
    if pictured.is_empty() {
        return None;
    }
    let columns = [
        ("Muscle", Holds::Text),
        ("Right from a picture", Holds::Number),
        ("Share", Holds::Number),
        ("Right from clues in words", Holds::Number),
        ("Share", Holds::Number),
    ];
    let cells = |right: u32, asked: u32| match wilson(right, asked) {
        Some(rate) => [of(right, asked), text(&share(&rate))],
        None => [or_dash(None), or_dash(None)],
    };
    let rows = pictured.into_iter().map(|item| {
        let (right, asked) = item.from_clues();
        let name = text(&item.muscle.name);
        let shown = cells(item.pictured_right, item.pictured);
        [name].into_iter().chain(shown).chain(cells(right, asked)).collect()
    });
    Some(table("Muscles shown in pictures, with 95 % intervals", &columns, rows))
}
