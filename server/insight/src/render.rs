//! Reports laid out. Nothing is computed here.

pub mod analysis;
mod list;
mod own;
mod text;

pub use list::list;
pub use own::{own_list, own_page};
