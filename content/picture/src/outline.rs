//! Outlines of bones: hulls of balls, made one and made simple.

use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::float::single::SingleFloatOverlay as _;

use crate::flat::{Flat, Window, apart, cross, minus, off_piece, plus};

/// A ball as it is seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Disc {
    pub(crate) at: Flat,
    /// How near its middle is to the one who looks.
    pub(crate) near: f64,
    pub(crate) radius: f64,
}

/// A closed line; its last place is joined to its first.
pub(crate) type Ring = Vec<Flat>;

/// Corners of the polygon that stands for a disc.
const CORNERS: u16 = 24;

/// The outline of the convex hull of discs, which it holds with nothing left out.
pub(crate) fn hull(discs: &[Disc]) -> Ring {
    convex(discs.iter().flat_map(around).collect())
}

/// The corners of the polygon about a disc, whose sides touch it.
fn around(disc: &Disc) -> impl Iterator<Item = Flat> {
    let step = std::f64::consts::TAU / f64::from(CORNERS);
    let reach = disc.radius / (step / 2.0).cos();
    let at = disc.at;
    (0..CORNERS).map(move |corner| {
        let (sin, cos) = (f64::from(corner) * step).sin_cos();
        plus(at, [reach * cos, reach * sin])
    })
}

/// The convex hull of places: lower and upper chain by x (Andrew 1979, from memory).
fn convex(mut places: Vec<Flat>) -> Ring {
    places.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    places.dedup();
    if places.len() < 3 {
        return places;
    }
    let mut ring = chain(places.iter().copied());
    ring.extend(chain(places.iter().rev().copied()));
    ring
}

fn chain(places: impl Iterator<Item = Flat>) -> Ring {
    let mut chain: Ring = Vec::new();
    for at in places {
        while let [.., before, last] = chain[..]
            && cross(minus(last, before), minus(at, before)) <= 0.0
        {
            chain.pop();
        }
        chain.push(at);
    }
    chain.pop();
    chain
}

/// An outline, and the holes in it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Outline {
    pub(crate) rim: Ring,
    pub(crate) holes: Vec<Ring>,
}

/// The outlines of solids that are one bone, as far as they lie in a window.
pub(crate) fn outlines<'a>(
    solids: impl IntoIterator<Item = &'a [Disc]>,
    window: Window,
) -> Vec<Outline> {
    let hulls: Vec<Ring> = solids.into_iter().map(hull).filter(|ring| ring.len() > 2).collect();
    let frame: Ring = window.corners().to_vec();
    let shapes = hulls.overlay(&frame, OverlayRule::Intersect, FillRule::NonZero);
    let outline = |shape: Vec<Ring>| {
        let mut rings = shape.into_iter();
        rings.next().map(|rim| Outline { rim, holes: rings.collect() })
    };
    shapes.into_iter().filter_map(outline).collect()
}

/// The area inside, whatever the sense of turning.
pub(crate) fn area(ring: &[Flat]) -> f64 {
    let next = ring.iter().cycle().skip(1);
    ring.iter().zip(next).map(|(a, b)| cross(*a, *b)).sum::<f64>().abs() / 2.0
}

/// A closed line with fewer places, none of those left out farther from it than the tolerance
/// (Ramer 1972, Douglas and Peucker 1973, from memory).
pub(crate) fn simplified(ring: &[Flat], tolerance: f64) -> Ring {
    let Some(&start) = ring.first() else { return Vec::new() };
    let far = |(_, at): &(usize, &Flat)| apart(start, **at);
    let farthest = ring.iter().enumerate().max_by(|a, b| far(a).total_cmp(&far(b)));
    let split = farthest.map_or(0, |(index, _)| index);
    let mut kept = Vec::new();
    thin(&ring[..=split], tolerance, &mut kept);
    let back: Ring = ring[split..].iter().copied().chain([start]).collect();
    thin(&back, tolerance, &mut kept);
    kept
}

/// An open line with fewer places, in the same way. Its ends stay.
pub(crate) fn thinned(line: &[Flat], tolerance: f64) -> Vec<Flat> {
    let mut kept = Vec::new();
    thin(line, tolerance, &mut kept);
    kept.extend(line.last());
    kept
}

/// Adds what is kept of an open line, all but its last place.
fn thin(line: &[Flat], tolerance: f64, kept: &mut Ring) {
    let [from, middle @ .., to] = line else { return };
    let off = |(_, at): &(usize, &Flat)| off_piece(*from, *to, **at);
    let farthest = middle.iter().enumerate().max_by(|a, b| off(a).total_cmp(&off(b)));
    match farthest {
        Some(one) if off(&one) > tolerance => {
            thin(&line[..=one.0 + 1], tolerance, kept);
            thin(&line[one.0 + 1..], tolerance, kept);
        }
        _ => kept.push(*from),
    }
}

/// Whether a place lies inside a closed line: a ray from it crosses the line an odd number of times.
pub(crate) fn inside(ring: &[Flat], at: Flat) -> bool {
    let next = ring.iter().cycle().skip(1);
    let crossed = ring.iter().zip(next).filter(|(a, b)| {
        (a[1] > at[1]) != (b[1] > at[1])
            && at[0] < a[0] + (at[1] - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
    });
    crossed.count() % 2 == 1
}

#[cfg(test)]
mod tests {
    use proptest::collection::vec;
    use proptest::prelude::*;

    use super::*;
    use crate::flat::times;

    fn disc() -> impl Strategy<Value = Disc> {
        (-1.0..1.0, -1.0..1.0, 0.01..0.3).prop_map(|(x, y, radius)| Disc {
            at: [x, y],
            near: 0.0,
            radius,
        })
    }

    fn solids() -> impl Strategy<Value = Vec<Vec<Disc>>> {
        vec(vec(disc(), 1..5), 1..5)
    }

    const WIDE: Window = Window { min: [-9.0, -9.0], max: [9.0, 9.0] };

    /// Places on the rim of a disc, a hair inside.
    fn rim(disc: &Disc) -> impl Iterator<Item = Flat> {
        (0..40).map(|step| {
            let (sin, cos) = (f64::from(step) * 0.157).sin_cos();
            plus(disc.at, times([cos, sin], disc.radius * 0.999))
        })
    }

    proptest! {
        #[test]
        fn a_hull_holds_every_disc(discs in vec(disc(), 1..6)) {
            let ring = hull(&discs);
            for at in discs.iter().flat_map(rim) {
                prop_assert!(inside(&ring, at));
            }
        }

        #[test]
        fn a_hull_bends_one_way(discs in vec(disc(), 1..6)) {
            let ring = hull(&discs);
            for index in 0..ring.len() {
                let [a, b, c] = [0, 1, 2].map(|step| ring[(index + step) % ring.len()]);
                prop_assert!(cross(minus(b, a), minus(c, b)) >= 0.0);
            }
        }

        #[test]
        fn outlines_hold_every_hull(solids in solids()) {
            let outlines = outlines(solids.iter().map(Vec::as_slice), WIDE);
            let filled = |outline: &Outline, at| {
                inside(&outline.rim, at) && !outline.holes.iter().any(|hole| inside(hole, at))
            };
            for at in solids.iter().flatten().flat_map(rim) {
                prop_assert!(outlines.iter().any(|outline| filled(outline, at)));
            }
        }

        #[test]
        fn outlines_stay_in_their_window(solids in solids()) {
            let window = Window { min: [-0.5, -0.4], max: [0.3, 0.6] };
            for outline in outlines(solids.iter().map(Vec::as_slice), window) {
                for at in outline.rim {
                    prop_assert!(window.grown(1e-6).holds(at));
                }
            }
        }

        #[test]
        fn what_is_left_out_lies_near_what_is_kept(solids in solids(), tolerance in 0.001..0.2) {
            for Outline { rim: ring, .. } in outlines(solids.iter().map(Vec::as_slice), WIDE) {
                let kept = simplified(&ring, tolerance);
                prop_assert!(kept.len() <= ring.len());
                for at in &ring {
                    let near = |index: usize| {
                        off_piece(kept[index], kept[(index + 1) % kept.len()], *at)
                    };
                    let least = (0..kept.len()).map(near).fold(f64::INFINITY, f64::min);
                    prop_assert!(least <= tolerance + 1e-9);
                }
            }
        }
    }

    #[test]
    fn two_that_do_not_touch_have_an_outline_each() {
        let disc = |x| vec![Disc { at: [x, 0.0], near: 0.0, radius: 0.4 }];
        let solids = [disc(0.0), disc(0.5), disc(2.0)];
        assert_eq!(outlines(solids.iter().map(Vec::as_slice), WIDE).len(), 2);
    }

    /// The area of a disc is pi r squared; the polygon about it is a little larger.
    #[test]
    fn the_area_of_a_disc() {
        let ring = hull(&[Disc { at: [0.3, -0.2], near: 0.0, radius: 0.5 }]);
        let excess = area(&ring) / (std::f64::consts::PI * 0.25);
        assert!((1.0..1.01).contains(&excess), "{excess}");
    }

    #[test]
    fn a_ring_of_rods_has_a_hole() {
        let corner = |x, y| Disc { at: [x, y], near: 0.0, radius: 0.1 };
        let corners = [corner(0.0, 0.0), corner(1.0, 0.0), corner(0.5, 1.0)];
        let rods = [[0, 1], [1, 2], [2, 0]].map(|rod| rod.map(|index: usize| corners[index]));
        let found = outlines(rods.iter().map(<[Disc; 2]>::as_slice), WIDE);
        assert_eq!(found.iter().map(|outline| outline.holes.len()).collect::<Vec<_>>(), [1]);
    }

    #[test]
    fn nothing_is_no_outline() {
        assert!(outlines(std::iter::empty(), WIDE).is_empty());
        assert!(simplified(&[], 1.0).is_empty());
    }
}
