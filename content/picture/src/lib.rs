//! Pictures of a muscle: the bones concerned, its attachments and its line of pull.
//!
//! [`draw`] looks at the atlas from the side that shows best what the muscle does, and makes plain
//! lines and words of it: a [`Picture`](myonym_wire::Picture), which a terminal or a page draws at
//! its own size, and [`svg`] writes as SVG. Nothing is drawn by hand: bones are hulls of balls, and
//! the arrow follows from the moment arm.

mod cover;
mod draw;
mod flat;
mod labels;
mod layout;
mod motion;
mod outline;
mod scene;
mod sketch;
#[cfg(test)]
mod small;
mod svg;
mod text;
mod turning;
mod view;

pub use draw::{draw, draw_pair};
pub use sketch::MOST_BYTES;
pub use svg::{svg, svg_pair};
pub use text::Labels;

/// A place in whole units.
fn units(at: flat::Flat) -> [i16; 2] {
    at.map(unit)
}

/// A number in whole units, held within what an `i16` can be.
fn unit(number: f64) -> i16 {
    let held = number.round().clamp(f64::from(i16::MIN), f64::from(i16::MAX));
    #[expect(clippy::cast_possible_truncation, reason = "whole and in range")]
    let whole = held as i16;
    whole
}
