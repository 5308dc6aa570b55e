//! Shares as bars: clues overlooked, and areas.

use maud::{Markup, html};

use super::super::words;
use super::bars::{Bar, bars};
use super::figure::{Picture, figure};
use super::tables::{Holds, of, percent, share, table, text};
use crate::analysis::{Analysis, Area, CueFound};

const MOST: usize = 10;

/// What the class overlooks.
pub(super) fn cues(found: &Analysis) -> Option<Markup> {
    let first = found.cues.first()?;
    let shown = &found.cues[..found.cues.len().min(MOST)];
    let rows: Vec<Bar<'_>> = shown
        .iter()
        .map(|cue| Bar {
            label: format!("{} ({})", cue.about, words::aspect(cue.aspect)),
            rate: &cue.rate,
        })
        .collect();
    let (size, drawn) = bars(&rows);
    let description = format!(
        "Most overlooked is {}: {} of {} answers went against it.",
        first.about, first.overlooked, first.shown
    );
    let picture = Picture {
        id: "cues-bars",
        title: "Cues overlooked",
        description: &description,
        size,
        drawn,
    };
    let caption = html! {
        "Share of answers that went against a clue on the screen, with its 95 % interval."
    };
    Some(figure(&picture, &caption, &cue_table("Cues overlooked, in numbers", &found.cues)))
}

fn cue_table(caption: &str, cues: &[CueFound]) -> Markup {
    let columns = [
        ("Clue about", Holds::Text),
        ("Kind", Holds::Text),
        ("Overlooked", Holds::Number),
        ("Share", Holds::Number),
        ("Expected share", Holds::Number),
        ("Told of", Holds::Text),
    ];
    let rows = cues.iter().map(|cue| {
        let muscles: Vec<&str> = cue.muscles.iter().map(|muscle| muscle.name.as_str()).collect();
        vec![
            text(&cue.about),
            text(words::aspect(cue.aspect)),
            of(cue.overlooked, cue.shown),
            text(&share(&cue.rate)),
            text(&percent(cue.shrunken)),
            text(&muscles.join(", ")),
        ]
    });
    table(caption, &columns, rows)
}

/// Strong and weak areas, kind by kind.
pub(super) fn areas(found: &Analysis) -> Option<Markup> {
    if found.areas.is_empty() {
        return None;
    }
    Some(html! {
        div.columns {
            @for (place, (kind, title)) in words::AREAS.iter().enumerate() {
                @let of_kind: Vec<&Area> =
                    found.areas.iter().filter(|area| area.kind == *kind).collect();
                @if !of_kind.is_empty() { (area_figure(place, title, &of_kind)) }
            }
        }
    })
}

fn area_figure(place: usize, title: &str, areas: &[&Area]) -> Markup {
    let shown = &areas[..areas.len().min(MOST)];
    let rows: Vec<Bar<'_>> =
        shown.iter().map(|area| Bar { label: area.name.clone(), rate: &area.rate }).collect();
    let (size, drawn) = bars(&rows);
    let weakest = areas.iter().min_by(|a, b| a.rate.value.total_cmp(&b.rate.value));
    let description = weakest.map_or_else(String::new, |area| {
        format!("Lowest is {}: {} of {}.", area.name, area.right, area.of)
    });
    let id = format!("areas-{place}");
    let picture = Picture { id: &id, title, description: &description, size, drawn };
    let columns = [("Area", Holds::Text), ("Right", Holds::Number), ("Share", Holds::Number)];
    let rows = areas
        .iter()
        .map(|area| vec![text(&area.name), of(area.right, area.of), text(&share(&area.rate))]);
    let caption = html! {
        (title) ", with 95 % intervals."
        @if shown.len() < areas.len() {
            " Shown are " (shown.len()) " of " (areas.len()) "."
        }
    };
    figure(&picture, &caption, &table(&format!("{title}, in numbers"), &columns, rows))
}
