//! Names beside points, none over another.

use super::figure::{TEXT, text_width};

/// A box of a drawing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Area {
    /// Left edge.
    pub(super) left: f64,
    /// Upper edge.
    pub(super) top: f64,
    /// Width.
    pub(super) width: f64,
    /// Height.
    pub(super) height: f64,
}

impl Area {
    fn meets(&self, other: &Self) -> bool {
        self.left < other.left + other.width
            && other.left < self.left + self.width
            && self.top < other.top + other.height
            && other.top < self.top + self.height
    }

    fn within(&self, outer: &Self) -> bool {
        self.left >= outer.left
            && self.top >= outer.top
            && self.left + self.width <= outer.left + outer.width
            && self.top + self.height <= outer.top + outer.height
    }
}

/// A label that found room.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Label<'a> {
    /// What it says.
    pub(super) text: &'a str,
    /// Left end of its base line.
    pub(super) x: f64,
    /// Base line.
    pub(super) y: f64,
}

impl Label<'_> {
    fn area(&self) -> Area {
        let Self { text, x, y } = *self;
        Area { left: x, top: y - TEXT * 0.8, width: text_width(text), height: TEXT }
    }
}

/// A point and what may stand beside it, the best first.
#[derive(Debug)]
pub(super) struct Wanted<'a> {
    /// Where the point is.
    pub(super) at: (f64, f64),
    /// Texts, the best first; the shorter ones are for crowds. None for a point without a label,
    /// over which others may be written where there is no other room.
    pub(super) texts: Vec<&'a str>,
}

/// Labels for points, the most important first, as many as have room: inside `room`, over no
/// labelled point and no other label. A label without room is `None`.
pub(super) fn place<'a>(wanted: &'a [Wanted<'a>], room: &Area) -> Vec<Option<Label<'a>>> {
    let marks = |labelled: bool| {
        let of_kind = wanted.iter().filter(move |point| point.texts.is_empty() != labelled);
        of_kind.map(|point| around(point.at)).collect::<Vec<_>>()
    };
    let (mut full, crowd) = (marks(true), marks(false));
    wanted
        .iter()
        .map(|point| {
            let free = |label: &Label<'_>| {
                let area = label.area();
                area.within(room) && !full.iter().any(|other| area.meets(other))
            };
            let clear = |label: &&Label<'_>| !crowd.iter().any(|mark| label.area().meets(mark));
            let label = point.texts.iter().find_map(|text| {
                let spots = spots(text, point.at).map(|(x, y)| Label { text, x, y });
                let spots: Vec<_> = spots.into_iter().filter(free).collect();
                spots.iter().find(clear).or_else(|| spots.first()).copied()
            })?;
            full.push(label.area());
            Some(label)
        })
        .collect()
}

/// The room that a mark takes.
fn around((x, y): (f64, f64)) -> Area {
    Area { left: x - 6.5, top: y - 6.5, width: 13.0, height: 13.0 }
}

/// Right, left, above, below, and the corners.
fn spots(text: &str, (x, y): (f64, f64)) -> [(f64, f64); 8] {
    let width = text_width(text);
    let (right, left, middle) = (x + 8.0, x - 8.0 - width, x - width / 2.0);
    let (level, above, below) = (y + 4.0, y - 9.0, y + 18.0);
    [
        (right, level),
        (left, level),
        (middle, above),
        (middle, below),
        (right, above),
        (right, below),
        (left, above),
        (left, below),
    ]
}

/// Moves base lines apart until neighbours are at least `gap` from each other, as near to where
/// they were wanted as a pass downwards and one upwards find, between `top` and `bottom` if they
/// fit there. The order is kept.
pub(super) fn spread(wanted: &[f64], gap: f64, top: f64, bottom: f64) -> Vec<f64> {
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    order.sort_by(|a, b| wanted[*a].total_cmp(&wanted[*b]));
    let mut placed = wanted.to_vec();
    let mut least = top;
    for place in &order {
        placed[*place] = placed[*place].max(least);
        least = placed[*place] + gap;
    }
    let mut most = bottom;
    for place in order.iter().rev() {
        placed[*place] = placed[*place].min(most);
        most = placed[*place] - gap;
    }
    placed
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const ROOM: Area = Area { left: 0.0, top: 0.0, width: 400.0, height: 300.0 };

    proptest! {
        #[test]
        fn no_label_lies_over_another_or_over_a_point(
            points in prop::collection::vec((10.0..390.0f64, 10.0..290.0f64), 0..60)
        ) {
            let wanted: Vec<Wanted<'_>> = points
                .iter()
                .map(|at| Wanted { at: *at, texts: vec!["extensor carpi", "12"] })
                .collect();
            let placed = place(&wanted, &ROOM);
            prop_assert_eq!(placed.len(), points.len());
            let areas: Vec<Area> = placed.iter().flatten().map(Label::area).collect();
            for (number, area) in areas.iter().enumerate() {
                prop_assert!(area.within(&ROOM));
                prop_assert!(areas[..number].iter().all(|other| !area.meets(other)));
                prop_assert!(points.iter().all(|at| !area.meets(&around(*at))));
            }
        }

        #[test]
        fn spread_lines_keep_their_gap(wanted in prop::collection::vec(0.0..300.0f64, 0..12)) {
            let placed = spread(&wanted, 15.0, 0.0, 300.0);
            let mut sorted = placed.clone();
            sorted.sort_by(f64::total_cmp);
            prop_assert!(sorted.windows(2).all(|pair| pair[1] - pair[0] >= 15.0 - 1e-9));
            prop_assert!(sorted.iter().all(|y| (-1e-9..=300.0 + 1e-9).contains(y)));
        }
    }

    #[test]
    fn a_crowded_point_gets_its_short_label_or_none() {
        let at = [(30.0, 20.0), (44.0, 20.0), (58.0, 20.0)];
        let wanted = at.map(|at| Wanted { at, texts: vec!["a long name", "1"] });
        let room = Area { left: 0.0, top: 10.0, width: 90.0, height: 20.0 };
        let found = place(&wanted, &room);
        let texts: Vec<_> = found.iter().map(|label| label.map(|label| label.text)).collect();
        assert_eq!(texts, [Some("1"), None, Some("1")]);
    }
}
