//! Reports laid out. Nothing is computed here.

pub mod analysis;
mod csv;
mod json;
mod own;
mod terminal;
mod text;

pub use csv::{RenderError, csv};
pub use json::json;
pub use own::{own_list, own_page};
pub use terminal::{list, terminal};
