//! What stands in a picture: bones and lines of pull as they are seen, and how much of them.

use std::collections::BTreeSet;

use myonym_content::Atlas;
use myonym_content::atlas::{Line, Shape, StopKind};
use myonym_content::model::BoneKey;
use myonym_content::vocabulary::Vocabulary;
use myonym_mechanics::SegmentId;
use myonym_wire::View;

use crate::cover::hides;
use crate::flat::{Flat, Seen, Window, apart, between, seen};
use crate::outline::Disc;

/// A bone as it is seen.
#[derive(Debug, Clone)]
pub(crate) struct Bone {
    pub(crate) segment: SegmentId,
    pub(crate) solids: Vec<Vec<Disc>>,
    /// Whether a line is attached to it; the others only help to find one's way.
    attached: bool,
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
const ROOM: f64 = 0.015;
/// Of a bone that a muscle is attached to, this much beyond the muscle is shown, in metres.
const BEYOND: f64 = 0.07;
/// No picture shows less than this, in metres.
const LEAST: f64 = 0.12;
/// Steps along a piece of a line in which it is looked whether a bone hides it, in metres.
const STEP: f64 = 0.003;
/// A stretch shorter than this, in metres, is drawn like its neighbour.
const SHORT: f64 = 0.012;

impl Scene {
    /// The bones that these lines are attached to or cross, with the lines in the middle; `None`
    /// without a line.
    pub(crate) fn new(
        atlas: &Atlas,
        v: &Vocabulary,
        lines: &[&Line],
        centre: Option<myonym_mechanics::Vec3>,
        view: View,
    ) -> Option<Self> {
        let attached = attached(v, lines);
        let crossed = crossed(atlas, lines);
        let concerned = |shape: &&Shape| {
            attached.contains(&shape.bone) || crossed.contains(&shape.segment)
        };
        let shapes = atlas.shapes.iter().filter(concerned);
        let mut bones: Vec<Bone> =
            shapes.map(|shape| bone(view, shape, attached.contains(&shape.bone))).collect();
        let stops = lines.iter().flat_map(|line| &line.stops).map(|stop| stop.point.at);
        let places = stops.chain(centre).map(|place| seen(view, place).at);
        let window = window(Window::around(places)?, &bones);
        bones.sort_by(|a, b| nearness(a, window).total_cmp(&nearness(b, window)));
        Some(Self { view, bones, window })
    }

    /// A line in stretches that are hidden by bones or not.
    pub(crate) fn stretches(&self, line: &Line) -> Vec<Stretch> {
        let stops: Vec<Seen> = line.stops.iter().map(|stop| seen(self.view, stop.point.at)).collect();
        let mut stretches: Vec<Stretch> = Vec::new();
        for pair in stops.windows(2) {
            for (from, to) in steps(pair[0], pair[1]) {
                let half = Seen { at: between(from.at, to.at, 0.5), near: (from.near + to.near) / 2.0 };
                let behind = self.hides(half);
                match stretches.last_mut() {
                    Some(last) if last.behind == behind => last.places.push(to.at),
                    _ => stretches.push(Stretch { behind, places: vec![from.at, to.at] }),
                }
            }
        }
        joined(stretches)
    }

    /// The share of the lines' length that no bone hides.
    pub(crate) fn uncovered(&self, lines: &[&Line]) -> f64 {
        let stretches: Vec<Stretch> = lines.iter().flat_map(|line| self.stretches(line)).collect();
        let open: f64 = stretches.iter().filter(|one| !one.behind).map(Stretch::length).sum();
        let all: f64 = stretches.iter().map(Stretch::length).sum();
        if all > 0.0 { open / all } else { 0.0 }
    }

    fn hides(&self, place: Seen) -> bool {
        self.bones.iter().flat_map(|bone| &bone.solids).any(|solid| hides(solid, place))
    }
}

impl Stretch {
    fn length(&self) -> f64 {
        self.places.windows(2).map(|pair| apart(pair[0], pair[1])).sum()
    }
}

/// A straight piece in short steps.
fn steps(from: Seen, to: Seen) -> impl Iterator<Item = (Seen, Seen)> {
    let length = apart(from.at, to.at);
    let count = (1..500).find(|count| f64::from(*count) * STEP >= length).unwrap_or(500);
    let at = move |step: u16| {
        let share = f64::from(step) / f64::from(count);
        Seen {
            at: between(from.at, to.at, share),
            near: from.near + (to.near - from.near) * share,
        }
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

fn bone(view: View, shape: &Shape, attached: bool) -> Bone {
    let disc = |ball: &myonym_content::atlas::Ball| {
        let Seen { at, near } = seen(view, ball.at);
        Disc { at, near, radius: ball.radius }
    };
    let solids = shape.solids.iter().map(|solid| solid.iter().map(disc).collect()).collect();
    Bone { segment: shape.segment, solids, attached }
}

/// The bones that lines are attached to.
fn attached<'a>(v: &'a Vocabulary, lines: &'a [&Line]) -> BTreeSet<&'a BoneKey> {
    let stops = lines.iter().flat_map(|line| &line.stops);
    let bones = stops.filter_map(|stop| match &stop.kind {
        StopKind::Attachment(landmark) => v.bone_of(landmark),
        StopKind::Via(_) => None,
    });
    bones.collect()
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

/// What is shown: the lines with some room, and of the bones that they are attached to what is near.
fn window(lines: Window, bones: &[Bone]) -> Window {
    let near = lines.grown(BEYOND);
    let discs = bones.iter().filter(|bone| bone.attached).flat_map(|bone| bone.solids.iter().flatten());
    let bones = discs.filter_map(|disc| {
        Window { min: disc.at, max: disc.at }.grown(disc.radius).common(near)
    });
    let shown = bones.fold(lines.grown(ROOM), Window::with);
    let size = shown.size();
    let more = size.map(|length| ((LEAST - length) / 2.0).max(0.0));
    Window {
        min: [shown.min[0] - more[0], shown.min[1] - more[1]],
        max: [shown.max[0] + more[0], shown.max[1] + more[1]],
    }
}

/// How near a bone is: the mean of its balls in the window.
fn nearness(bone: &Bone, window: Window) -> f64 {
    let all = || bone.solids.iter().flatten();
    let mean = |near: &mut dyn Iterator<Item = f64>| {
        let (count, sum) = near.fold((0.0, 0.0), |(count, sum), near| (count + 1.0, sum + near));
        (count > 0.0).then(|| sum / count)
    };
    mean(&mut all().filter(|disc| window.holds(disc.at)).map(|disc| disc.near))
        .or_else(|| mean(&mut all().map(|disc| disc.near)))
        .unwrap_or_default()
}
