//! What to teach again: the first screen.

use maud::{Markup, html};

use super::super::words::{self, TEACH_FIRST};
use crate::analysis::{Analysis, Teach};

/// The first things to teach again, side by side where there is room.
pub(super) fn section(found: &Analysis) -> Option<Markup> {
    if found.teach.is_empty() {
        return None;
    }
    let rest = found.teach.get(TEACH_FIRST..).unwrap_or_default();
    Some(html! {
        ol.cards {
            @for (place, teach) in found.teach.iter().take(TEACH_FIRST).enumerate() {
                li { (card(place + 1, teach)) }
            }
        }
        @if !rest.is_empty() {
            details {
                summary { (rest.len()) " more to teach again" }
                ol start=(TEACH_FIRST + 1) {
                    @for teach in rest {
                        li { strong { (teach.headline) } ". " (teach.sentence) }
                    }
                }
            }
        }
    })
}

fn card(number: usize, teach: &Teach) -> Markup {
    html! {
        h3 { (number) ". " (teach.headline) }
        p { (teach.sentence) }
        (contrast(teach))
        @if let Some(stake) = words::at_stake(teach) { p.stake { (stake) } }
    }
}

/// Two muscles side by side; nothing if the thing to teach is not a pair.
fn contrast(teach: &Teach) -> Markup {
    let [first, second] = teach.muscles.as_slice() else { return Markup::default() };
    let rows: Vec<_> = teach.apart.iter().chain(&teach.line_of_pull).collect();
    if rows.is_empty() {
        return Markup::default();
    }
    html! {
        table.contrast {
            caption { "What tells them apart" }
            thead {
                tr {
                    th scope="col" { (first.name) }
                    th scope="col" { (second.name) }
                }
            }
            @for row in rows {
                tbody {
                    tr { th scope="rowgroup" colspan="2" { (row.aspect) } }
                    tr {
                        td { (or_not_taught(&row.first)) }
                        td { (or_not_taught(&row.second)) }
                    }
                }
            }
        }
    }
}

fn or_not_taught(side: &str) -> &str {
    if side.is_empty() { "not taught" } else { side }
}
