//! Parts of a plate that the student's and the instructor's screens share. Each is a function from
//! plain data and a width to lines.

mod bar;
mod clues;
mod contrast;
mod spread;
mod standings;

pub(crate) use bar::{bar, time_line};
pub(crate) use clues::clues;
pub(crate) use contrast::{contrast, difference};
pub(crate) use spread::spread;
pub(crate) use standings::standings;

use ratatui::text::Line;

use crate::text;
use crate::theme::Theme;

/// A heading with an empty line above it.
pub(crate) fn heading(title: &str) -> [Line<'static>; 2] {
    [Line::default(), Line::styled(title.to_owned(), Theme::STRONG)]
}

/// A paragraph wrapped to a width.
pub(crate) fn paragraph(said: &str, width: usize) -> Vec<Line<'static>> {
    text::wrap(said, width).into_iter().map(Line::raw).collect()
}
