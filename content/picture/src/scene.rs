//! What stands in a picture: bones and lines of pull as they are seen, and how much of them.

use std::collections::BTreeSet;

use myonym_content::Atlas;
use myonym_content::atlas::{Ball, Line, Shape, StopKind};
use myonym_content::model::BoneKey;
use myonym_content::vocabulary::Vocabulary;
use myonym_mechanics::{Point, SegmentId, Vec3};
use myonym_wire::View;

use crate::cover::hides;
use crate::flat::{Flat, Seen, Window, apart, between, length, minus, plus, seen};
use crate::outline::Disc;

/// A solid as it is seen.
#[derive(Debug, Clone)]
pub(crate) struct Solid {
    pub(crate) discs: Vec<Disc>,
    /// What it takes up.
    extent: Window,
}

/// A bone as it is seen.
#[derive(Debug, Clone)]
pub(crate) struct Bone {
    pub(crate) segment: SegmentId,
    pub(crate) solids: Vec<Solid>,
    /// Whether a line is attached to it; the others only help to find one's way.
    pub(crate) attached: bool,
    /// Whether it is one of a row, such as a rib.
    of_row: bool,
}

/// On which side of the bones lines lie, for one who looks from somewhere.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Side {
    /// The share of their length that no bone hides.
    pub(crate) uncovered: f64,
    /// How much nearer they are than the bones, on average, in metres.
    pub(crate) nearer: f64,
}

/// Bones and lines of pull, seen from one side.
#[derive(Debug, Clone)]
pub(crate) struct Scene {
    pub(crate) view: View,
    /// From far to near.
    pub(crate) bones: Vec<Bone>,
    /// What is shown, in metres.
    pub(crate) window: Window,
}

/// A piece of a line of pull that is either hidden or not.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Stretch {
    pub(crate) behind: bool,
    pub(crate) places: Vec<Flat>,
}

/// A muscle needs this much room about it, in metres.
const ROOM: f64 = 0.01;
/// Of a bone that a muscle is attached to, this much beyond the muscle is shown, in metres.
const BEYOND: f64 = 0.06;
/// A bone that is no longer than this is shown whole, in metres.
const WHOLE: f64 = 0.22;
/// Of bones behind or before the lines this much is shown, in metres.
const DEEP: f64 = 0.09;
/// No picture shows less than this, in metres.
const LEAST: f64 = 0.12;
/// Steps along a piece of a line in which it is looked whether a bone hides it, in metres.
const STEP: f64 = 0.003;
/// A stretch shorter than this, in metres, is drawn like its neighbour.
const SHORT: f64 = 0.012;

impl Scene {
    /// The bones that these lines are attached to or cross, with the lines in the middle.
    pub(crate) fn new(
        atlas: &Atlas,
        v: &Vocabulary,
        lines: &[&Line],
        centre: Option<Vec3>,
        view: View,
    ) -> Self {
        let attached = attached(atlas, v, lines);
        let crossed = crossed(atlas, lines);
        let concerned =
            |shape: &&Shape| attached.contains(&shape.bone) || crossed.contains(&shape.segment);
        let points = lines.iter().flat_map(|line| line.points()).map(|point| point.at);
        let places: Vec<Seen> = points.chain(centre).map(|place| seen(view, place)).collect();
        let depths = || places.iter().map(|place| place.near);
        let slab = [
            depths().fold(f64::INFINITY, f64::min) - DEEP,
            depths().fold(f64::NEG_INFINITY, f64::max) + DEEP,
        ];
        let shapes = atlas.shapes.iter().filter(concerned);
        let of_row = |shape: &Shape| {
            v.bones.get(&shape.bone).is_some_and(|bone| bone.row.is_some() || bone.plural)
        };
        let bone = |shape: &Shape| Bone {
            segment: shape.segment,
            solids: solids(view, shape, slab),
            attached: attached.contains(&shape.bone),
            of_row: of_row(shape),
        };
        let mut bones: Vec<Bone> = shapes.map(bone).collect();
        let around = Window::around(places.iter().map(|place| place.at)).unwrap_or_default();
        let window = window(around, &bones);
        bones.sort_by(|a, b| nearness(a, window).total_cmp(&nearness(b, window)));
        Self { view, bones, window }
    }

    /// A line as it is seen.
    pub(crate) fn flat(&self, line: &Line) -> Vec<Flat> {
        line.points().iter().map(|point| seen(self.view, point.at).at).collect()
    }

    /// A line in stretches that are hidden by bones or not.
    pub(crate) fn stretches(&self, line: &Line) -> Vec<Stretch> {
        let points = line.points();
        let points: Vec<Seen> = points.iter().map(|point| seen(self.view, point.at)).collect();
        let mut stretches: Vec<Stretch> = Vec::new();
        for pair in points.windows(2) {
            for (from, to) in steps(pair[0], pair[1]) {
                let near = f64::midpoint(from.near, to.near);
                let behind = self.hides(Seen { at: between(from.at, to.at, 0.5), near });
                match stretches.last_mut() {
                    Some(last) if last.behind == behind => last.places.push(to.at),
                    _ => stretches.push(Stretch { behind, places: vec![from.at, to.at] }),
                }
            }
        }
        joined(stretches)
    }

    /// On which side of the bones these lines lie.
    pub(crate) fn side(&self, lines: &[&Line]) -> Side {
        let stretches: Vec<Stretch> = lines.iter().flat_map(|line| self.stretches(line)).collect();
        let open: f64 = stretches.iter().filter(|one| !one.behind).map(Stretch::length).sum();
        let all: f64 = stretches.iter().map(Stretch::length).sum();
        let points = lines.iter().flat_map(|line| line.points());
        let of_lines = mean(points.map(|point| seen(self.view, point.at).near));
        let of_bones = mean(self.bones.iter().map(|bone| nearness(bone, self.window)));
        Side {
            uncovered: if all > 0.0 { open / all } else { 0.0 },
            nearer: of_lines.unwrap_or_default() - of_bones.unwrap_or_default(),
        }
    }

    /// Whether a bone lies before a place.
    pub(crate) fn hides(&self, place: Seen) -> bool {
        let mut solids = self.bones.iter().flat_map(|bone| &bone.solids);
        solids.any(|solid| solid.extent.holds(place.at) && hides(&solid.discs, place))
    }
}

impl Stretch {
    fn length(&self) -> f64 {
        length(&self.places)
    }
}

/// A straight piece in short steps.
fn steps(from: Seen, to: Seen) -> impl Iterator<Item = (Seen, Seen)> {
    let length = apart(from.at, to.at);
    let count = (1..500).find(|count| f64::from(*count) * STEP >= length).unwrap_or(500);
    let at = move |step: u16| {
        let share = f64::from(step) / f64::from(count);
        Seen { at: between(from.at, to.at, share), near: from.near + (to.near - from.near) * share }
    };
    (0..count).map(move |step| (at(step), at(step + 1)))
}

/// Short stretches taken into those before them, and a short first one into the next.
fn joined(stretches: Vec<Stretch>) -> Vec<Stretch> {
    let mut joined: Vec<Stretch> = Vec::new();
    for stretch in stretches {
        match joined.last_mut() {
            Some(last)
                if last.behind == stretch.behind
                    || stretch.length() < SHORT
                    || last.length() < SHORT =>
            {
                if last.length() < SHORT {
                    last.behind = stretch.behind;
                }
                last.places.extend(stretch.places.into_iter().skip(1));
            }
            _ => joined.push(stretch),
        }
    }
    joined
}

/// What of a bone lies in a slab across the line of sight.
fn solids(view: View, shape: &Shape, slab: [f64; 2]) -> Vec<Solid> {
    let disc = |ball: &Ball| {
        let Seen { at, near } = seen(view, ball.at);
        Disc { at, near, radius: ball.radius }
    };
    let solid = |balls: &Vec<Ball>| {
        let discs: Vec<Disc> = balls.iter().map(disc).collect();
        let discs = cut(&cut(&discs, slab[0], 1.0), slab[1], -1.0);
        let each =
            discs.iter().map(|disc| Window { min: disc.at, max: disc.at }.grown(disc.radius));
        let extent = each.reduce(Window::with)?;
        Some(Solid { discs, extent })
    };
    shape.solids.iter().filter_map(solid).collect()
}

/// What of a solid lies before a depth, or behind it where `sense` is -1: balls beyond it are drawn
/// in along the rods that join them to those that stay.
fn cut(discs: &[Disc], depth: f64, sense: f64) -> Vec<Disc> {
    let stays = |disc: &&Disc| (disc.near - depth) * sense >= 0.0;
    let (kept, gone): (Vec<&Disc>, Vec<&Disc>) = discs.iter().partition(stays);
    let drawn_in = kept.iter().flat_map(|from| {
        gone.iter().map(move |to| {
            let share = (depth - from.near) / (to.near - from.near);
            Disc {
                at: between(from.at, to.at, share),
                near: depth,
                radius: from.radius + (to.radius - from.radius) * share,
            }
        })
    });
    kept.iter().map(|disc| **disc).chain(drawn_in).collect()
}

/// The bones that lines are attached to. Of a soft structure, such as a membrane, it is the nearest
/// bone of what it moves with.
fn attached<'a>(atlas: &'a Atlas, v: &'a Vocabulary, lines: &[&Line]) -> BTreeSet<&'a BoneKey> {
    let stops = lines.iter().flat_map(|line| &line.stops);
    let bones = stops.filter_map(|stop| match &stop.kind {
        StopKind::Attachment(landmark) => {
            let key = v.landmarks.get_key_value(landmark).and_then(|(key, _)| v.bone_of(key));
            key.or_else(|| nearest(atlas, &stop.point))
        }
        StopKind::Via(_) => None,
    });
    bones.collect()
}

/// The bone with the ball nearest to a point, of those that move with it.
fn nearest<'a>(atlas: &'a Atlas, point: &Point) -> Option<&'a BoneKey> {
    let shapes = atlas.shapes.iter().filter(|shape| shape.segment == point.segment);
    let balls =
        shapes.flat_map(|shape| shape.solids.iter().flatten().map(move |ball| (shape, ball)));
    let off = |ball: &Ball| (ball.at - point.at).norm() - ball.radius;
    let nearest = balls.min_by(|(_, a), (_, b)| off(a).total_cmp(&off(b)));
    nearest.map(|(shape, _)| &shape.bone)
}

/// The segments between the ends of lines, and the ends: the way from either up to where they meet,
/// which is left out unless an end is there.
fn crossed(atlas: &Atlas, lines: &[&Line]) -> BTreeSet<SegmentId> {
    let up = |segment: SegmentId| {
        let carrier = |at: &SegmentId| atlas.linkage.segments.get(at.0)?.carried_by;
        std::iter::successors(Some(segment), carrier).take(atlas.linkage.segments.len())
    };
    let mut found = BTreeSet::new();
    for line in lines {
        let (Some(first), Some(last)) = (line.stops.first(), line.stops.last()) else { continue };
        let [from, to] = [first, last].map(|stop| up(stop.point.segment).collect::<BTreeSet<_>>());
        found.extend(from.symmetric_difference(&to));
        found.extend([first.point.segment, last.point.segment]);
    }
    found
}

/// What is shown: the lines with some room, and of the bones that they are attached to what is
/// near, or all if they are small.
fn window(lines: Window, bones: &[Bone]) -> Window {
    let near = lines.grown(BEYOND);
    let attached = bones.iter().filter(|bone| bone.attached).filter_map(|bone| {
        let around = bone.solids.iter().map(|solid| solid.extent).reduce(Window::with)?;
        let [width, height] = around.size();
        if !bone.of_row && width.max(height) <= WHOLE { Some(around) } else { around.common(near) }
    });
    let shown = attached.fold(lines, Window::with).grown(ROOM);
    let more = shown.size().map(|length| ((LEAST - length) / 2.0).max(0.0));
    Window { min: minus(shown.min, more), max: plus(shown.max, more) }
}

/// How near a bone is: the mean of its balls in the window, or of all if none is there.
fn nearness(bone: &Bone, window: Window) -> f64 {
    let all = || bone.solids.iter().flat_map(|solid| &solid.discs);
    mean(all().filter(|disc| window.holds(disc.at)).map(|disc| disc.near))
        .or_else(|| mean(all().map(|disc| disc.near)))
        .unwrap_or_default()
}

/// The mean; `None` of nothing.
pub(crate) fn mean(numbers: impl Iterator<Item = f64>) -> Option<f64> {
    let [count, sum] = numbers.fold([0.0, 0.0], |[count, sum], one| [count + 1.0, sum + one]);
    (count > 0.0).then(|| sum / count)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::small::{BEFORE, BEHIND, atlas, vocabulary};

    fn scene(muscle: (&str, [f64; 3], [f64; 3]), view: View) -> (Scene, Line) {
        let atlas = atlas(&[muscle]);
        let line = atlas.lines.values().flatten().next().unwrap().clone();
        (Scene::new(&atlas, &vocabulary(), &[&line], None, view), line)
    }

    #[test]
    fn bones_hide_what_is_behind_them() {
        let (scene, line) = scene(BEHIND, View::Front);
        assert!(scene.side(&[&line]).uncovered < 0.2);
        let (scene, line) = self::scene(BEHIND, View::Back);
        assert!(scene.side(&[&line]).uncovered > 0.99);
        assert!(scene.side(&[&line]).nearer > 0.0);
        let (scene, line) = self::scene(BEFORE, View::Front);
        assert_eq!(scene.stretches(&line).len(), 1);
    }

    #[test]
    fn a_line_that_goes_round_a_bone_is_hidden_in_part() {
        let round = ("round", [-0.03, 0.2, 0.0], [0.03, 0.05, 0.0]);
        let (scene, line) = scene(round, View::Front);
        let stretches = scene.stretches(&line);
        assert_eq!(stretches.iter().map(|one| one.behind).collect::<Vec<_>>(), [true, false]);
        let whole: f64 = stretches.iter().map(Stretch::length).sum();
        let stops = line.stops.iter().map(|stop| seen(View::Front, stop.point.at).at);
        assert!((whole - length(&stops.collect::<Vec<_>>())).abs() < 1e-9);
    }

    #[test]
    fn short_stretches_are_drawn_like_their_neighbours() {
        let stretch = |behind, from, to| Stretch { behind, places: vec![[from, 0.0], [to, 0.0]] };
        let all = vec![
            stretch(true, 0.0, 0.001),
            stretch(false, 0.001, 0.1),
            stretch(true, 0.1, 0.105),
            stretch(false, 0.105, 0.2),
            stretch(true, 0.2, 0.3),
        ];
        let joined = joined(all);
        assert_eq!(joined.iter().map(|one| one.behind).collect::<Vec<_>>(), [false, true]);
    }

    #[test]
    fn far_parts_of_a_solid_are_cut_off() {
        let disc = |x, near| Disc { at: [x, 0.0], near, radius: 0.1 };
        let cut = cut(&[disc(0.0, 0.0), disc(1.0, -1.0)], -0.25, 1.0);
        assert_eq!(cut, [disc(0.0, 0.0), disc(0.25, -0.25)]);
    }

    #[test]
    fn the_window_holds_the_lines_and_near_bones() {
        let (scene, line) = scene(BEFORE, View::Side);
        for stop in &line.stops {
            assert!(scene.window.holds(seen(View::Side, stop.point.at).at));
        }
        let [width, height] = scene.window.size();
        assert!(width >= LEAST && height < 0.5, "{width} {height}");
    }
}
