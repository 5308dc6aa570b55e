//! What a bone hides.

use crate::flat::{Flat, Seen, apart, between, cross, minus, share};
use crate::outline::Disc;

/// From where to where a solid reaches along a line of sight.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Reach {
    front: f64,
    back: f64,
}

impl Reach {
    fn about(near: f64, half: f64) -> Self {
        Self { front: near + half, back: near - half }
    }

    fn with(self, other: Self) -> Self {
        Self { front: self.front.max(other.front), back: self.back.min(other.back) }
    }
}

/// Bones and lines of pull are no surer than this, in metres: our estimate.
const DOUBT: f64 = 0.004;

/// Whether a solid hides a place: whether it lies behind the middle of the solid, since a muscle
/// that is drawn a little inside a bone still lies on that side of it.
pub(crate) fn hides(solid: &[Disc], place: Seen) -> bool {
    reach(solid, place.at)
        .is_some_and(|Reach { front, back }| place.near + DOUBT < f64::midpoint(front, back))
}

/// The hull of balls is made up of the hulls of their pairs and of the plates between each three.
fn reach(solid: &[Disc], at: Flat) -> Option<Reach> {
    let single = solid.iter().filter_map(|disc| rod(disc, disc, at));
    let pairs = pairs(solid).filter_map(|(a, b)| rod(a, b, at));
    let plates = solid.iter().enumerate().flat_map(|(index, a)| {
        pairs_of(&solid[index + 1..]).filter_map(move |(b, c)| plate([a, b, c], at))
    });
    single.chain(pairs).chain(plates).reduce(Reach::with)
}

fn pairs(solid: &[Disc]) -> impl Iterator<Item = (&Disc, &Disc)> {
    pairs_of(solid)
}

fn pairs_of(solid: &[Disc]) -> impl Iterator<Item = (&Disc, &Disc)> {
    let rest = |index: usize| solid[index + 1..].iter();
    solid.iter().enumerate().flat_map(move |(index, a)| rest(index).map(move |b| (a, b)))
}

/// The tapered rod between two balls.
fn rod(a: &Disc, b: &Disc, at: Flat) -> Option<Reach> {
    let share = share(a.at, b.at, at);
    let off = apart(at, between(a.at, b.at, share));
    let mixed = |from: f64, to: f64| from + (to - from) * share;
    let radius = mixed(a.radius, b.radius);
    let half = (radius * radius - off * off).max(0.0).sqrt();
    (off <= radius).then(|| Reach::about(mixed(a.near, b.near), half))
}

/// The plate between three balls.
fn plate(corners: [&Disc; 3], at: Flat) -> Option<Reach> {
    let [a, b, c] = corners.map(|disc| disc.at);
    let whole = cross(minus(b, a), minus(c, a));
    let parts = [(b, c), (c, a), (a, b)].map(|(p, q)| cross(minus(p, at), minus(q, at)) / whole);
    let inside = whole.abs() > 1e-12 && parts.iter().all(|part| *part >= 0.0);
    let mixed = |of: fn(&Disc) -> f64| -> f64 {
        corners.iter().zip(parts).map(|(disc, part)| of(disc) * part).sum()
    };
    inside.then(|| Reach::about(mixed(|disc| disc.near), mixed(|disc| disc.radius)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ball(x: f64, y: f64, near: f64) -> Disc {
        Disc { at: [x, y], near, radius: 0.1 }
    }

    #[test]
    fn a_ball_hides_what_is_behind_its_middle() {
        let solid = [ball(0.0, 0.0, 1.0)];
        let hidden = |x, near| hides(&solid, Seen { at: [x, 0.0], near });
        assert!(hidden(0.0, 0.8));
        assert!(hidden(0.0, 0.95), "drawn inside, but on the far side");
        assert!(!hidden(0.0, 1.05));
        assert!(!hidden(0.0, 1.2));
        assert!(!hidden(0.11, 0.8), "beside it");
    }

    #[test]
    fn a_rod_and_a_plate_hide_what_lies_between_their_ends() {
        let rod = [ball(-1.0, 0.0, 0.0), ball(1.0, 0.0, 1.0)];
        assert!(hides(&rod, Seen { at: [0.5, 0.05], near: 0.7 }));
        assert!(!hides(&rod, Seen { at: [-0.5, 0.05], near: 0.7 }));
        let plate = [ball(0.0, 0.0, 0.0), ball(1.0, 0.0, 0.0), ball(0.0, 1.0, 0.0)];
        assert!(hides(&plate, Seen { at: [0.3, 0.3], near: -0.2 }));
        assert!(!hides(&plate, Seen { at: [0.3, 0.3], near: 0.2 }));
        assert!(!hides(&plate, Seen { at: [0.8, 0.8], near: -0.2 }));
    }
}
