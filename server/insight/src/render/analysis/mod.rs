//! Analyses laid out, for a terminal, a browser, a spreadsheet and a program. Nothing is computed
//! here: what a page says stands in the analysis.

mod cells;
mod csv;
mod html;
mod json;
mod terminal;
mod words;

pub use cells::RenderError;
pub use csv::{csv, own_rows};
pub use html::{html, note};
pub use json::json;
pub use terminal::terminal;
