//! Places in space as they fall on a picture.

use myonym_mechanics::Vec3;
use myonym_wire::View;

/// A place on a picture: x to the right and y down. Metres, until a layout makes units of them.
pub(crate) type Flat = [f64; 2];

/// A place as it is seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Seen {
    /// Where it falls.
    pub(crate) at: Flat,
    /// How near it is to the one who looks: more is nearer. Metres.
    pub(crate) near: f64,
}

/// Where a place falls. Everything is seen from far away, so that lengths across the line of sight
/// stay true.
pub(crate) fn seen(view: View, Vec3 { x, y, z }: Vec3) -> Seen {
    match view {
        View::Front => Seen { at: [-z, -y], near: x },
        View::Back => Seen { at: [z, -y], near: -x },
        View::Side => Seen { at: [x, -y], near: z },
        View::Above => Seen { at: [z, -x], near: y },
    }
}

/// The direction to the one who looks.
pub(crate) fn sight(view: View) -> Vec3 {
    match view {
        View::Front => Vec3::new(1.0, 0.0, 0.0),
        View::Back => Vec3::new(-1.0, 0.0, 0.0),
        View::Side => Vec3::new(0.0, 0.0, 1.0),
        View::Above => Vec3::new(0.0, 1.0, 0.0),
    }
}

pub(crate) fn plus(a: Flat, b: Flat) -> Flat {
    [a[0] + b[0], a[1] + b[1]]
}

pub(crate) fn minus(a: Flat, b: Flat) -> Flat {
    [a[0] - b[0], a[1] - b[1]]
}

pub(crate) fn times(a: Flat, by: f64) -> Flat {
    [a[0] * by, a[1] * by]
}

pub(crate) fn dot(a: Flat, b: Flat) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

/// Twice the area of the triangle 0, a, b; its sign tells the sense of turning.
pub(crate) fn cross(a: Flat, b: Flat) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

pub(crate) fn apart(a: Flat, b: Flat) -> f64 {
    let by = minus(a, b);
    by[0].hypot(by[1])
}

/// Where on a straight piece a place is closest: 0 at its start, 1 at its end.
pub(crate) fn share(from: Flat, to: Flat, at: Flat) -> f64 {
    let run = minus(to, from);
    let length = dot(run, run);
    if length > 0.0 { (dot(minus(at, from), run) / length).clamp(0.0, 1.0) } else { 0.0 }
}

/// How far a place is from a straight piece.
pub(crate) fn off_piece(from: Flat, to: Flat, at: Flat) -> f64 {
    apart(at, between(from, to, share(from, to, at)))
}

/// The place at a share of the way.
pub(crate) fn between(from: Flat, to: Flat, share: f64) -> Flat {
    plus(from, times(minus(to, from), share))
}

/// Length of a line.
pub(crate) fn length(line: &[Flat]) -> f64 {
    line.windows(2).map(|pair| apart(pair[0], pair[1])).sum()
}

/// The place half way along a line; `None` for an empty one.
pub(crate) fn half_way(line: &[Flat]) -> Option<Flat> {
    let mut left = length(line) / 2.0;
    for pair in line.windows(2) {
        let piece = apart(pair[0], pair[1]);
        if piece >= left && piece > 0.0 {
            return Some(between(pair[0], pair[1], left / piece));
        }
        left -= piece;
    }
    line.first().copied()
}

/// An upright rectangle.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Window {
    pub(crate) min: Flat,
    pub(crate) max: Flat,
}

impl Window {
    /// The smallest that holds all places; `None` if there is none.
    pub(crate) fn around(places: impl IntoIterator<Item = Flat>) -> Option<Self> {
        places.into_iter().map(|at| Self { min: at, max: at }).reduce(Self::with)
    }

    /// The smallest that holds both.
    pub(crate) fn with(self, other: Self) -> Self {
        Self {
            min: [self.min[0].min(other.min[0]), self.min[1].min(other.min[1])],
            max: [self.max[0].max(other.max[0]), self.max[1].max(other.max[1])],
        }
    }

    /// Wider on every side; narrower by a negative number.
    pub(crate) fn grown(self, by: f64) -> Self {
        Self { min: minus(self.min, [by, by]), max: plus(self.max, [by, by]) }
    }

    /// What both hold; `None` if that is nothing.
    pub(crate) fn common(self, other: Self) -> Option<Self> {
        let min = [self.min[0].max(other.min[0]), self.min[1].max(other.min[1])];
        let max = [self.max[0].min(other.max[0]), self.max[1].min(other.max[1])];
        (min[0] < max[0] && min[1] < max[1]).then_some(Self { min, max })
    }

    pub(crate) fn size(self) -> Flat {
        minus(self.max, self.min)
    }

    pub(crate) fn middle(self) -> Flat {
        between(self.min, self.max, 0.5)
    }

    pub(crate) fn holds(self, at: Flat) -> bool {
        (0..2).all(|axis| self.min[axis] <= at[axis] && at[axis] <= self.max[axis])
    }

    /// Its corners, in order.
    pub(crate) fn corners(self) -> [Flat; 4] {
        let Self { min, max } = self;
        [min, [max[0], min[1]], max, [min[0], max[1]]]
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    pub(crate) const VIEWS: [View; 4] = [View::Front, View::Back, View::Side, View::Above];

    fn place() -> impl Strategy<Value = Vec3> {
        [-1.0..1.0, -1.0..1.0, -1.0..1.0].prop_map(Vec3::from)
    }

    proptest! {
        #[test]
        fn a_view_keeps_distances_across_the_line_of_sight(a in place(), b in place()) {
            for view in VIEWS {
                let true_length = (b - a).across(sight(view)).norm();
                let found = apart(seen(view, a).at, seen(view, b).at);
                prop_assert!((found - true_length).abs() < 1e-12);
            }
        }

        #[test]
        fn the_depth_is_what_is_left(a in place(), b in place()) {
            for view in VIEWS {
                let depth = seen(view, b).near - seen(view, a).near;
                prop_assert!((depth - (b - a).dot(sight(view))).abs() < 1e-12);
            }
        }

        #[test]
        fn no_place_of_a_piece_is_closer(a in place(), b in place(), at in place(), share in 0.0..1.0) {
            let [from, to, at] = [a, b, at].map(|place| seen(View::Front, place).at);
            prop_assert!(off_piece(from, to, at) <= apart(at, between(from, to, share)) + 1e-12);
        }
    }

    /// Left and right as anatomists draw them, common practice, no source: whoever faces a person
    /// has that person's right hand to the left.
    #[test]
    fn left_and_right() {
        let middle = Vec3::default();
        let to_the_right = |view, place| seen(view, place).at[0] - seen(view, middle).at[0];
        let right_hand = Vec3::new(0.0, 0.0, 0.3);
        assert!(to_the_right(View::Front, right_hand) < 0.0);
        assert!(to_the_right(View::Back, right_hand) > 0.0);
        assert!(to_the_right(View::Above, right_hand) > 0.0);
        let nose = Vec3::new(0.1, 0.0, 0.0);
        assert!(to_the_right(View::Side, nose) > 0.0);
        assert!(seen(View::Above, nose).at[1] < 0.0, "the front is at the top");
        let crown = Vec3::new(0.0, 0.7, 0.0);
        for view in [View::Front, View::Back, View::Side] {
            assert!(seen(view, crown).at[1] < 0.0, "up is up");
        }
    }
}
