//! A picture, put together.

use myonym_content::Atlas;
use myonym_content::atlas::Line;
use myonym_content::model::{End, Muscle};
use myonym_content::vocabulary::Vocabulary;
use myonym_mechanics::Vec3;
use myonym_wire::{Part, Picture, Stroke, View};

use crate::flat::{Flat, apart, minus, plus, seen, times};
use crate::labels::{Drawn, Wanted, place};
use crate::motion::arrow;
use crate::outline::{Outline, area, outlines, simplified};
use crate::scene::Scene;
use crate::text::{self, Labels};
use crate::turning::{Turning, turnings};
use crate::view;

/// Width of every picture. At 360 pixels a unit is half a pixel.
pub(crate) const WIDTH: f64 = 720.0;
/// The room for what is drawn, without what labels need beside it.
const ROOM: Flat = [560.0, 760.0];
/// Room above and below.
const MARGIN: f64 = 30.0;
/// Radius of the marks of origins and insertions.
pub(crate) const MARK: f64 = 17.0;
/// A picture as JSON has at most this many bytes.
pub const MOST_BYTES: usize = 6 * 1024;

/// How metres become units.
#[derive(Debug, Clone, Copy)]
struct Layout {
    /// Units for each decimetre.
    scale: u16,
    /// Where the middle of the window is.
    from: Flat,
    to: Flat,
    size: [f64; 2],
}

impl Layout {
    fn new(scene: &Scene) -> Self {
        let [width, height] = scene.window.size();
        let scale = (ROOM[0] / width).min(ROOM[1] / height) / 10.0;
        let scale = scale.floor().clamp(1.0, f64::from(u16::MAX));
        let drawn = height * scale * 10.0;
        let size = [WIDTH, (drawn + 2.0 * MARGIN).ceil()];
        Self {
            // In range by the clamp above.
            scale: scale as u16,
            from: scene.window.middle(),
            to: times(size, 0.5),
            size,
        }
    }

    fn at(&self, place: Flat) -> Flat {
        plus(times(minus(place, self.from), f64::from(self.scale) * 10.0), self.to)
    }
}

/// Draws a muscle with the bones concerned, from where its strongest sure actions are seen best:
/// from the front or from behind as fewer bones hide it. `None` if the atlas has no line of it.
pub fn draw(atlas: &Atlas, v: &Vocabulary, muscle: &Muscle, labels: Labels) -> Option<Picture> {
    let turnings = turnings(atlas, &muscle.key);
    let lines: Vec<&Line> = atlas.lines(&muscle.key).iter().collect();
    let uncovered = |view| {
        Scene::new(atlas, v, &lines, None, view).map_or(0.0, |scene| scene.uncovered(&lines))
    };
    let view = view::best(&turnings, uncovered);
    let turning = strongest(&turnings, view);
    let centre = turning.map(|turning| turning.motion.through);
    let scene = Scene::new(atlas, v, &lines, centre, view)?;
    let sketch = Sketch { atlas, v, muscle, scene: &scene, turning };
    Some(sketch.picture(labels))
}

/// The freedom whose moment arm is seen best.
fn strongest<'a, 'b>(turnings: &'b [Turning<'a>], view: View) -> Option<&'b Turning<'a>> {
    let sure = turnings.iter().max_by(|a, b| {
        (a.sure, a.shown_mm(view)).partial_cmp(&(b.sure, b.shown_mm(view))).unwrap_or(std::cmp::Ordering::Equal)
    });
    sure
}

/// One muscle in a scene that it may share.
struct Sketch<'a> {
    atlas: &'a Atlas,
    v: &'a Vocabulary,
    muscle: &'a Muscle,
    scene: &'a Scene,
    turning: Option<&'a Turning<'a>>,
}

impl Sketch<'_> {
    fn picture(&self, labels: Labels) -> Picture {
        let layout = Layout::new(self.scene);
        let lines = self.atlas.lines(&self.muscle.key);
        let flat = |line: &Line| -> Vec<Flat> {
            line.stops.iter().map(|stop| seen(self.scene.view, stop.point.at).at).collect()
        };
        let flats: Vec<Vec<Flat>> = lines.iter().map(flat).collect();
        let sure = self.turning.filter(|turning| turning.sure);
        let arrow = sure.and_then(|turning| arrow(self.atlas, self.scene, turning, &flats));
        let arrow: Option<Vec<Flat>> = arrow.map(|arrow| arrow.into_iter().map(|at| layout.at(at)).collect());
        let joint = self.turning.map(|turning| seen(self.scene.view, turning.motion.through).at);
        let joint = joint.filter(|at| self.scene.window.holds(*at)).map(|at| layout.at(at));
        let mut strokes = Vec::new();
        for line in lines {
            strokes.extend(self.scene.stretches(line).into_iter().map(|stretch| Stroke {
                behind: stretch.behind,
                ..stroke(Part::Muscle, &simple(stretch.places.iter().map(|at| layout.at(*at)).collect()))
            }));
        }
        strokes.extend(joint.map(|at| stroke(Part::Joint, &[at])));
        strokes.extend(arrow.as_ref().map(|arrow| stroke(Part::Motion, &simple(arrow.clone()))));
        let marks = self.marks(&layout);
        strokes.extend(marks.iter().map(|(part, at)| stroke(*part, &[*at])));
        let mut size = layout.size;
        let labels_placed = match labels {
            Labels::Hidden => Vec::new(),
            Labels::Shown => {
                let wanted = self.wanted(&layout, arrow.as_deref());
                let mut drawn: Vec<Vec<Flat>> = flats.iter().map(|line| line.iter().map(|at| layout.at(*at)).collect()).collect();
                drawn.extend(arrow.clone());
                let drawn = Drawn { marks: marks.iter().map(|(_, at)| (*at, MARK)).collect(), lines: drawn };
                place(&wanted, &drawn, &mut size)
            }
        };
        let mut picture = Picture {
            view: self.scene.view,
            width: crate::unit(size[0]).unsigned_abs(),
            height: crate::unit(size[1]).unsigned_abs(),
            scale: layout.scale,
            strokes,
            labels: labels_placed,
            text: text::text(self.atlas, self.v, self.muscle, self.scene.view, self.turning, labels),
        };
        self.add_bones(&mut picture, &layout);
        picture
    }

    /// Adds the bones behind all else, as fine as there is room for.
    fn add_bones(&self, picture: &mut Picture, layout: &Layout) {
        let bones: Vec<Outline> = self
            .scene
            .bones
            .iter()
            .flat_map(|bone| outlines(bone.solids.iter().map(Vec::as_slice), self.scene.window))
            .map(|outline| Outline {
                rim: outline.rim.iter().map(|at| layout.at(*at)).collect(),
                holes: outline.holes.iter().map(|hole| hole.iter().map(|at| layout.at(*at)).collect()).collect(),
            })
            .collect();
        let rest = std::mem::take(&mut picture.strokes);
        let mut tolerance = 0.8;
        loop {
            picture.strokes = bones.iter().filter_map(|bone| bone_stroke(bone, tolerance)).collect();
            picture.strokes.extend(rest.iter().cloned());
            if bytes(picture) < MOST_BYTES || tolerance > 100.0 {
                return;
            }
            tolerance *= 1.25;
        }
    }

    /// The marks of origins and insertions, each place once.
    fn marks(&self, layout: &Layout) -> Vec<(Part, Flat)> {
        let mut marks: Vec<(Part, Flat)> = Vec::new();
        for line in self.atlas.lines(&self.muscle.key) {
            let ends = [(Part::Origin, line.stops.first()), (Part::Insertion, line.stops.last())];
            for (part, stop) in ends.into_iter().filter_map(|(part, stop)| Some((part, stop?))) {
                let at = layout.at(seen(self.scene.view, stop.point.at).at);
                if !marks.iter().any(|(other, there)| *other == part && apart(*there, at) < 4.0) {
                    marks.push((part, at));
                }
            }
        }
        marks
    }

    fn wanted(&self, layout: &Layout, arrow: Option<&[Flat]>) -> Vec<Wanted> {
        let lines = self.atlas.lines(&self.muscle.key);
        let mut wanted: Vec<Wanted> = Vec::new();
        let at = |place: Vec3| layout.at(seen(self.scene.view, place).at);
        for (end, part) in [(End::Origin, Part::Origin), (End::Insertion, Part::Insertion)] {
            for line in lines {
                let stop = match end {
                    End::Origin => line.stops.first(),
                    End::Insertion => line.stops.last(),
                };
                let (Some(stop), Some(landmark)) = (stop, text::landmark(line, end)) else { continue };
                let words = text::label(self.v, self.muscle, end, landmark);
                if !wanted.iter().any(|one| one.part == part && one.words == words) {
                    wanted.push(Wanted { part, at: at(stop.point.at), words });
                }
            }
        }
        wanted.extend(self.name(layout));
        let movement = self.turning.and_then(|turning| turning.freedom.movement(turning.arm_mm));
        let movement = movement.and_then(|key| self.v.movements.get(key));
        if let (Some(arrow), Some(movement)) = (arrow, movement) {
            let at = arrow[arrow.len() / 2];
            wanted.push(Wanted { part: Part::Motion, at, words: movement.name.clone() });
        }
        wanted
    }

    /// The muscle's name, at the middle of the middle line.
    fn name(&self, layout: &Layout) -> Option<Wanted> {
        let lines = self.atlas.lines(&self.muscle.key);
        let line = lines.get(lines.len() / 2)?;
        let places: Vec<Flat> = line.stops.iter().map(|stop| layout.at(seen(self.scene.view, stop.point.at).at)).collect();
        let at = half_way(&places)?;
        Some(Wanted { part: Part::Muscle, at, words: self.muscle.name.clone() })
    }
}

/// The place half way along a line.
fn half_way(places: &[Flat]) -> Option<Flat> {
    let length: f64 = places.windows(2).map(|pair| apart(pair[0], pair[1])).sum();
    let mut left = length / 2.0;
    for pair in places.windows(2) {
        let piece = apart(pair[0], pair[1]);
        if piece >= left && piece > 0.0 {
            return Some(crate::flat::between(pair[0], pair[1], left / piece));
        }
        left -= piece;
    }
    places.first().copied()
}

/// An open line without places that change nothing.
fn simple(line: Vec<Flat>) -> Vec<Flat> {
    crate::outline::thinned(&line, 0.7)
}

fn bone_stroke(bone: &Outline, tolerance: f64) -> Option<Stroke> {
    let simple = |ring: &Vec<Flat>| -> Option<Vec<[i16; 2]>> {
        let mut points: Vec<[i16; 2]> = simplified(ring, tolerance).into_iter().map(crate::units).collect();
        points.dedup();
        (points.len() > 2 && area(ring) > 12.0).then_some(points)
    };
    Some(Stroke {
        part: Part::Bone,
        closed: true,
        behind: false,
        points: simple(&bone.rim)?,
        holes: bone.holes.iter().filter_map(simple).collect(),
    })
}

fn stroke(part: Part, places: &[Flat]) -> Stroke {
    let points = places.iter().map(|at| crate::units(*at)).collect();
    Stroke { part, closed: false, behind: false, points, holes: Vec::new() }
}

/// Size of a picture as JSON.
fn bytes(picture: &Picture) -> usize {
    serde_json::to_string(picture).map_or(usize::MAX, |json| json.len())
}
