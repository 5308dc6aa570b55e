//! The hardest muscles, and the questions to look at.

use maud::{Markup, html};

use super::super::super::text::seconds;
use super::super::words;
use super::item_plot::item_plot;
use super::tables::{Holds, number, of, or_dash, share, signed, table, text};
use crate::analysis::{Analysis, Item};

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
        @if let Some(plot) = item_plot(&found.items) { (plot) }
    })
}

/// How muscles were answered.
pub(super) fn hardest(caption: &str, items: &[Item]) -> Markup {
    let columns = [
        ("Muscle", Holds::Text),
        ("Right", Holds::Number),
        ("Share right", Holds::Number),
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
            or_dash(item.rest_correlation.map(signed)),
            number(item.omitted.saturating_add(item.timed_out)),
            or_dash(item.median_ms.map(seconds)),
            or_dash(item.clues_needed.map(|clues| clues.to_string())),
            text(&words::flags(item)),
        ]
    });
    table(caption, &columns, rows)
}
