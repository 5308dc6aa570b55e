//! Confused pairs: the map, and the clearest of them in words.

use maud::{Markup, html};

use super::super::words;
use super::heat_map::heat_map;
use super::tables::{Holds, of, or_dash, range, share, table, text};
use crate::analysis::{Analysis, Pair};

const MOST: usize = 12;

/// The map and the clearest pairs; `None` if nobody was taken for anybody.
pub(super) fn section(found: &Analysis) -> Option<Markup> {
    let map = heat_map(&found.map);
    if map.is_none() && found.pairs.is_empty() {
        return None;
    }
    let shown = &found.pairs[..found.pairs.len().min(MOST)];
    Some(html! {
        @if let Some(map) = map { (map) }
        @if !shown.is_empty() {
            h3 { "The clearest confusions" }
            (pairs("Pairs, both ways round, with 95 % intervals", shown))
            @if shown.len() < found.pairs.len() {
                p { "All " (found.pairs.len()) " stand under " a href="#appendix" { "All numbers" } "." }
            }
        }
    })
}

/// Pairs with both directions.
pub(super) fn pairs(caption: &str, pairs: &[Pair]) -> Markup {
    let columns = [
        ("Asked → answered", Holds::Text),
        ("Answers", Holds::Number),
        ("Share", Holds::Number),
        ("Expected share", Holds::Number),
        ("Other way round", Holds::Number),
        ("What to make of it", Holds::Text),
    ];
    let rows = pairs.iter().map(|pair| {
        let back = pair.back;
        vec![
            html! {
                (pair.asked.name) " → " (pair.said.name)
                @for apart in words::differences(pair) { br; span.apart { (apart) } }
            },
            of(pair.count, pair.of),
            text(&share(&pair.rate)),
            text(&range(pair.shrunken, pair.shrunken_low, pair.shrunken_high)),
            or_dash((back.1 > 0).then(|| format!("{} of {}", back.0, back.1))),
            text(&words::pair(pair)),
        ]
    });
    table(caption, &columns, rows)
}
