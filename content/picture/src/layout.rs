//! How metres become units of a picture.

use crate::flat::{Flat, Window, minus, plus, times};

/// Width of every picture. At 360 pixels a unit is half a pixel.
const WIDTH: f64 = 720.0;
/// The room for bones, without what labels need beside them.
const ROOM: Flat = [510.0, 760.0];
/// Room above for the heading.
pub(crate) const ABOVE: f64 = 84.0;
/// Room below.
const BELOW: f64 = 24.0;
/// Room that an arrow leaves at the edges.
const EDGE: Flat = [16.0, 10.0];

/// Where a window is laid on a picture.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Layout {
    /// Units for each decimetre.
    pub(crate) scale: u16,
    /// Width and height of the picture.
    pub(crate) size: [f64; 2],
    /// A place in metres, and where it comes to lie.
    from: Flat,
    to: Flat,
}

impl Layout {
    /// As large as the room allows, in the middle.
    pub(crate) fn new(window: Window) -> Self {
        let [width, height] = window.size();
        let scale = (ROOM[0] / width).min(ROOM[1] / height) / 10.0;
        let scale = crate::unit(scale.floor()).unsigned_abs().max(1);
        let drawn = height * f64::from(scale) * 10.0;
        let size = [WIDTH, (drawn + ABOVE + BELOW).ceil()];
        Self { scale, size, from: window.middle(), to: [WIDTH / 2.0, ABOVE + drawn / 2.0] }
    }

    /// Where a place comes to lie.
    pub(crate) fn at(&self, place: Flat) -> Flat {
        plus(times(minus(place, self.from), f64::from(self.scale) * 10.0), self.to)
    }

    /// Where the places of a line come to lie.
    pub(crate) fn line(&self, line: &[Flat]) -> Vec<Flat> {
        line.iter().map(|at| self.at(*at)).collect()
    }

    /// What of the picture may be drawn on, in metres.
    pub(crate) fn room(&self) -> Window {
        let back =
            |at: Flat| plus(times(minus(at, self.to), 0.1 / f64::from(self.scale)), self.from);
        Window { min: back([EDGE[0], ABOVE]), max: back(minus(self.size, EDGE)) }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn a_window_lies_within_its_picture(
            min in [-1.0..1.0, -1.0..1.0],
            size in [0.05..1.5, 0.05..1.5],
        ) {
            let window = Window { min, max: plus(min, size) };
            let layout = Layout::new(window);
            let page = Window { min: [0.0, 0.0], max: layout.size };
            for corner in window.corners() {
                prop_assert!(page.holds(layout.at(corner)));
            }
            prop_assert!(layout.size[1] <= ROOM[1] + ABOVE + BELOW + 1.0);
        }

        #[test]
        fn the_scale_is_units_for_each_decimetre(
            from in [-1.0..1.0, -1.0..1.0],
            size in [0.05..1.5, 0.05..1.5],
        ) {
            let layout = Layout::new(Window { min: from, max: plus(from, size) });
            let [x, y] = minus(layout.at(plus(from, [0.1, 0.0])), layout.at(from));
            prop_assert!((x - f64::from(layout.scale)).abs() < 1e-6 && y.abs() < 1e-6);
        }
    }
}
