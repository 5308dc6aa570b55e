//! Parts of a plate that the student's and the instructor's screens share. Each is a function from
//! plain data and a width to lines.

mod bar;
mod clues;
mod contrast;
pub(crate) mod picture;
mod raster;
mod spread;
mod standings;

pub(crate) use bar::{bar, time_line};
pub(crate) use clues::clues;
pub(crate) use contrast::{contrast, difference};
pub(crate) use spread::spread;
pub(crate) use standings::standings;

use myonym_wire::{Reveal, Task};
use ratatui::text::Line;

use crate::text;
use crate::theme::Theme;

/// A heading with an empty line above it.
pub(crate) fn heading(title: &str) -> [Line<'static>; 2] {
    [Line::default(), Line::styled(title.to_owned(), Theme::STRONG)]
}

/// The movements that were right, where one was asked for.
pub(crate) fn movements(reveal: &Reveal, width: usize) -> Vec<Line<'static>> {
    match reveal.movements.as_slice() {
        [] => Vec::new(),
        right => {
            [vec![Line::default()], paragraph(&format!("Right: {}.", right.join(", ")), width)]
                .concat()
        }
    }
}

/// Beside which other muscle the right one was offered, where one of two was to be chosen.
pub(crate) fn beside(reveal: &Reveal, width: usize) -> Vec<Line<'static>> {
    match &reveal.contrast {
        Some(contrast) if reveal.task == Task::Contrast => {
            paragraph(&format!("Offered beside {}.", contrast.said), width)
        }
        Some(_) | None => Vec::new(),
    }
}

/// What a reveal teaches: pictures, what tells apart, and why the muscle does what it does.
pub(crate) fn lesson(
    theme: Theme,
    reveal: &Reveal,
    room: (usize, usize),
    telling: picture::Telling,
) -> Vec<Line<'static>> {
    let mut lines = Vec::new();
    if !reveal.pictures.is_empty() {
        lines.extend(heading("Where it runs"));
        lines.extend(picture::labelled(theme, &reveal.pictures, room, telling));
    }
    if let Some(contrast) = &reveal.contrast {
        lines.extend(heading("What tells them apart"));
        lines.extend(self::contrast(theme, contrast, reveal.task, room.0));
    }
    if !reveal.explanations.is_empty() {
        lines.extend(heading("Why it does what it does"));
        lines.extend(reveal.explanations.iter().flat_map(|why| paragraph(why, room.0)));
    }
    lines
}

/// A paragraph wrapped to a width.
pub(crate) fn paragraph(said: &str, width: usize) -> Vec<Line<'static>> {
    text::wrap(said, width).into_iter().map(Line::raw).collect()
}
