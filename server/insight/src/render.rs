//! Reports laid out. Nothing is computed here.

pub mod analysis;
mod csv;
mod json;
mod terminal;
mod text;

pub use csv::{RenderError, csv};
pub use json::json;
pub use terminal::{list, terminal};
