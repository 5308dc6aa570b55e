//! A picture, put together.

use myonym_content::Atlas;
use myonym_content::atlas::Line;
use myonym_content::explain::separating;
use myonym_content::model::{End, Muscle};
use myonym_content::vocabulary::Vocabulary;
use myonym_mechanics::Vec3;
use myonym_wire::{Label, Part, Picture, Stroke, View};

use crate::flat::{Flat, Window, apart, minus, plus, seen, times};
use crate::labels::{Drawn, Wanted, place};
use crate::motion::{arrow, half_way};
use crate::outline::{Outline, Ring, area, outlines, simplified};
use crate::scene::Scene;
use crate::text::{self, Labels};
use crate::turning::{Turning, shown, turning, turnings};
use crate::view::Subject;

/// Width of every picture. At 360 pixels a unit is half a pixel.
pub(crate) const WIDTH: f64 = 720.0;
/// The room for what is drawn, without what labels need beside it.
const ROOM: Flat = [530.0, 760.0];
/// Room below, and above for the heading.
const BELOW: f64 = 24.0;
pub(crate) const ABOVE: f64 = 84.0;
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
        let size = [WIDTH, (drawn + ABOVE + BELOW).ceil()];
        Self {
            // In range by the clamp above.
            scale: scale as u16,
            from: scene.window.middle(),
            to: [size[0] / 2.0, ABOVE + drawn / 2.0],
            size,
        }
    }

    /// The room for drawing, in metres.
    fn room(&self) -> Window {
        let back = |at: Flat| {
            plus(times(minus(at, self.to), 0.1 / f64::from(self.scale)), self.from)
        };
        Window { min: back([16.0, ABOVE]), max: back(minus(self.size, [16.0, 10.0])) }
    }

    fn at(&self, place: Flat) -> Flat {
        plus(times(minus(place, self.from), f64::from(self.scale) * 10.0), self.to)
    }
}

/// Draws a muscle with the bones concerned, from where its strongest sure actions are seen best:
/// from the front or from behind as fewer bones hide it. `None` if the atlas has no line of it.
pub fn draw(atlas: &Atlas, v: &Vocabulary, muscle: &Muscle, labels: Labels) -> Option<Picture> {
    let turnings = shown(&turnings(atlas, &muscle.key), muscle);
    let lines: Vec<&Line> = atlas.lines(&muscle.key).iter().collect();
    let subject = Subject { turnings: &turnings, lines: &lines };
    if lines.is_empty() {
        return None;
    }
    let view = subject.best_view(|view| Scene::new(atlas, v, &lines, None, view).side(&lines));
    let turning = strongest(&subject, view);
    let centre = turning.and_then(Turning::joint);
    let scene = Scene::new(atlas, v, &lines, centre, view);
    let sketch = Sketch { atlas, v, muscle, scene: &scene, turning };
    Some(sketch.picture(labels))
}

/// Draws two muscles for comparison: from where their greatest difference is seen best, in one
/// frame and at one scale. `None` if the atlas has no line of either.
pub fn draw_pair(
    atlas: &Atlas,
    v: &Vocabulary,
    first: &Muscle,
    second: &Muscle,
) -> Option<(Picture, Picture)> {
    let pair = [first, second];
    let lines = pair.map(|muscle| atlas.lines(&muscle.key).iter().collect::<Vec<&Line>>());
    if lines.iter().any(Vec::is_empty) {
        return None;
    }
    let own = pair.map(|muscle| shown(&turnings(atlas, &muscle.key), muscle));
    let (mine, theirs) = separating(atlas, first, second);
    let opposed = mine.is_some() && theirs.is_some();
    let located = |muscle: &Muscle, one| turning(atlas, &muscle.key, one?);
    let apart = [located(first, mine), located(second, theirs)];
    let told: Vec<Turning> = if opposed {
        apart.iter().flatten().cloned().collect()
    } else {
        own.concat()
    };
    let both = lines.concat();
    let subject = Subject { turnings: &told, lines: &both };
    let view = subject.best_view(|view| Scene::new(atlas, v, &both, None, view).side(&both));
    let centre = strongest(&subject, view).and_then(Turning::joint);
    let scene = Scene::new(atlas, v, &both, centre, view);
    let picture = |index: usize| {
        let subject = Subject { turnings: &own[index], lines: &lines[index] };
        let telling = |one: &&Turning| is_told(&subject, one, view);
        let turning = apart[index].as_ref().filter(telling).or_else(|| strongest(&subject, view));
        Sketch { atlas, v, muscle: pair[index], scene: &scene, turning }.picture(Labels::Shown)
    };
    let (mut first, mut second) = (picture(0), picture(1));
    let height = first.height.max(second.height);
    (first.height, second.height) = (height, height);
    Some((first, second))
}

/// The sure turning of which most is seen; `None` if none is seen well.
fn strongest<'a>(subject: &Subject<'a>, view: View) -> Option<&'a Turning> {
    let told = subject.turnings.iter().filter(|one| is_told(subject, one, view));
    told.max_by(|a, b| subject.seen_mm(a, view).total_cmp(&subject.seen_mm(b, view)))
}

/// Whether an arrow may show a turning in a view.
fn is_told(subject: &Subject<'_>, turning: &Turning, view: View) -> bool {
    turning.is_sure() && subject.seen_mm(turning, view) >= turning.weight_mm() / 3.0
}

/// One muscle in a scene that it may share.
struct Sketch<'a> {
    atlas: &'a Atlas,
    v: &'a Vocabulary,
    muscle: &'a Muscle,
    scene: &'a Scene,
    turning: Option<&'a Turning>,
}

impl Sketch<'_> {
    fn picture(&self, labels: Labels) -> Picture {
        let layout = Layout::new(self.scene);
        let lines = self.atlas.lines(&self.muscle.key);
        let flat = |line: &Line| -> Vec<Flat> {
            line.stops.iter().map(|stop| seen(self.scene.view, stop.point.at).at).collect()
        };
        let flats: Vec<Vec<Flat>> = lines.iter().map(flat).collect();
        let room = layout.room();
        let arrow = self.turning.and_then(|turning| arrow(self.atlas, self.scene, turning, &flats, room));
        let arrow: Option<Vec<Flat>> = arrow.map(|arrow| arrow.into_iter().map(|at| layout.at(at)).collect());
        let joint = self.turning.and_then(Turning::joint);
        let joint = joint.map(|place| seen(self.scene.view, place).at);
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
        strokes.extend(marks.iter().map(|mark| {
            Stroke { behind: mark.behind, ..stroke(mark.part, &[mark.at]) }
        }));
        let mut size = layout.size;
        let labels_placed = match labels {
            Labels::Hidden => Vec::new(),
            Labels::Shown => {
                let wanted = self.wanted(&layout, arrow.as_deref());
                let mut drawn: Vec<Vec<Flat>> = flats.iter().map(|line| line.iter().map(|at| layout.at(*at)).collect()).collect();
                drawn.extend(arrow.clone());
                let mut kept_free: Vec<(Flat, f64)> = marks.iter().map(|mark| (mark.at, MARK)).collect();
                kept_free.extend(joint.map(|at| (at, 10.0)));
                let bones = self.bones(&layout).into_iter().map(|(_, bone)| simplified(&bone.rim, 4.0)).collect();
                let drawn = Drawn { marks: kept_free, lines: drawn, bones };
                let mut placed = vec![heading(&self.muscle.name)];
                placed.extend(place(&wanted, &drawn, &mut size));
                placed
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

    /// The outlines of bones, from far to near.
    fn bones(&self, layout: &Layout) -> Vec<(Part, Outline)> {
        let laid = |ring: &Ring| ring.iter().map(|at| layout.at(*at)).collect();
        let outlines = self.scene.bones.iter().flat_map(|bone| {
            let part = if bone.attached { Part::Bone } else { Part::Neighbour };
            let solids = bone.solids.iter().map(Vec::as_slice);
            outlines(solids, self.scene.window).into_iter().map(move |one| (part, one))
        });
        let laid_out = |(part, Outline { rim, holes }): (Part, Outline)| {
            (part, Outline { rim: laid(&rim), holes: holes.iter().map(laid).collect() })
        };
        outlines.map(laid_out).collect()
    }

    /// Adds the bones behind all else, as fine as there is room for.
    fn add_bones(&self, picture: &mut Picture, layout: &Layout) {
        let bones = self.bones(layout);
        let rest = std::mem::take(&mut picture.strokes);
        let mut tolerance = 0.8;
        loop {
            picture.strokes = bones.iter().filter_map(|(part, bone)| bone_stroke(*part, bone, tolerance)).collect();
            picture.strokes.extend(rest.iter().cloned());
            if bytes(picture) < MOST_BYTES || tolerance > 100.0 {
                return;
            }
            tolerance *= 1.25;
        }
    }

    /// The marks of origins and insertions, each place once.
    fn marks(&self, layout: &Layout) -> Vec<Mark> {
        let mut marks: Vec<Mark> = Vec::new();
        for line in self.atlas.lines(&self.muscle.key) {
            let ends = [(Part::Origin, line.stops.first()), (Part::Insertion, line.stops.last())];
            for (part, stop) in ends.into_iter().filter_map(|(part, stop)| Some((part, stop?))) {
                let place = seen(self.scene.view, stop.point.at);
                let at = layout.at(place.at);
                if !marks.iter().any(|other| other.part == part && apart(other.at, at) < 4.0) {
                    marks.push(Mark { part, at, behind: self.scene.hides(place) });
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
        if let (Some(at), Some(turning)) = (arrow.and_then(half_way), self.turning) {
            let words = text::movement(self.v, self.muscle, &turning.derived);
            wanted.push(Wanted { part: Part::Motion, at, words });
        }
        wanted
    }
}

/// The mark of an origin or an insertion.
struct Mark {
    part: Part,
    at: Flat,
    behind: bool,
}

/// The muscle's name, above the picture.
fn heading(name: &str) -> Label {
    let at = crate::units([10.0, 32.0]);
    Label { part: Part::Muscle, at, text_at: at, right: true, lines: vec![name.to_owned()] }
}

/// An open line without places that change nothing.
fn simple(line: Vec<Flat>) -> Vec<Flat> {
    crate::outline::thinned(&line, 0.7)
}

fn bone_stroke(part: Part, bone: &Outline, tolerance: f64) -> Option<Stroke> {
    let simple = |ring: &Vec<Flat>| -> Option<Vec<[i16; 2]>> {
        let mut points: Vec<[i16; 2]> = simplified(ring, tolerance).into_iter().map(crate::units).collect();
        points.dedup();
        (points.len() > 2 && area(ring) > 12.0).then_some(points)
    };
    Some(Stroke {
        part,
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
