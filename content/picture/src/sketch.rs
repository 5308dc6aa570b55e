//! A picture, put together.

use myonym_content::Atlas;
use myonym_content::atlas::Line;
use myonym_content::model::{End, Muscle};
use myonym_content::vocabulary::Vocabulary;
use myonym_wire::{Label, Part, Picture, Stroke};

use crate::flat::{Flat, Window, apart, half_way, seen};
use crate::labels::{Drawn, Wanted, place};
use crate::layout::Layout;
use crate::motion::arrow;
use crate::outline::{Outline, Ring, area, outlines, simplified, thinned};
use crate::scene::Scene;
use crate::text::{self, Labels, stop};
use crate::turning::Turning;

/// A picture as JSON has fewer bytes than this, so that two fit in one message.
pub const MOST_BYTES: usize = 6 * 1024;
/// Radius of the marks of origins and insertions.
pub(crate) const MARK: f64 = 17.0;
/// Radius of the mark of a joint.
const JOINT: f64 = 10.0;
/// How far the outline of a bone may be from the true one, as first tried, in units.
const FINE: f64 = 0.8;
/// An outline that is coarser than this is left as it is, whatever its size.
const COARSE: f64 = 60.0;
/// Bones and holes smaller than this are left out, in square units.
const SPECK: f64 = 12.0;
/// Neighbours may be drawn so much more coarsely.
const COARSER: f64 = 2.5;

/// One muscle in a scene that it may share.
pub(crate) struct Sketch<'a> {
    atlas: &'a Atlas,
    v: &'a Vocabulary,
    muscle: &'a Muscle,
    scene: &'a Scene,
    turning: Option<&'a Turning>,
    layout: Layout,
}

/// The mark of an origin or an insertion.
struct Mark {
    part: Part,
    at: Flat,
    behind: bool,
}

impl<'a> Sketch<'a> {
    pub(crate) fn new(
        atlas: &'a Atlas,
        v: &'a Vocabulary,
        muscle: &'a Muscle,
        scene: &'a Scene,
        turning: Option<&'a Turning>,
    ) -> Self {
        Self { atlas, v, muscle, scene, turning, layout: Layout::new(scene.window) }
    }

    pub(crate) fn picture(&self, labels: Labels) -> Picture {
        let (arrow, marks, joint) = (self.arrow(), self.marks(), self.joint());
        let bones = self.bones();
        let mut strokes = self.pulls();
        strokes.extend(joint.map(|at| stroke(Part::Joint, &[at])));
        strokes.extend(arrow.as_ref().map(|arrow| stroke(Part::Motion, arrow)));
        strokes.extend(
            marks
                .iter()
                .map(|mark| Stroke { behind: mark.behind, ..stroke(mark.part, &[mark.at]) }),
        );
        let mut size = self.layout.size;
        let labels_placed = match labels {
            Labels::Hidden => Vec::new(),
            Labels::Shown => {
                let mut free: Vec<(Flat, f64)> = marks.iter().map(|mark| (mark.at, MARK)).collect();
                free.extend(joint.map(|at| (at, JOINT)));
                let lines = self.lines().iter().map(|line| self.flat(line)).chain(arrow.clone());
                let rims = bones.iter().filter_map(|(_, bone)| {
                    let rim = simplified(&bone.rim, 4.0);
                    Some((Window::around(rim.iter().copied())?, rim))
                });
                let drawn = Drawn { marks: free, lines: lines.collect(), bones: rims.collect() };
                let mut labels = vec![self.heading()];
                labels.extend(place(&self.wanted(arrow.as_deref()), &drawn, &mut size));
                labels
            }
        };
        let picture = Picture {
            view: self.scene.view,
            width: crate::unit(size[0]).unsigned_abs(),
            height: crate::unit(size[1]).unsigned_abs(),
            scale: self.layout.scale,
            strokes,
            labels: labels_placed,
            text: self.text(labels),
        };
        with_bones(picture, &bones)
    }

    fn text(&self, labels: Labels) -> String {
        text::text(self.atlas, self.v, self.muscle, self.scene.view, self.turning, labels)
    }

    fn lines(&self) -> &'a [Line] {
        self.atlas.lines(&self.muscle.key)
    }

    /// A line of pull as it comes to lie.
    fn flat(&self, line: &Line) -> Vec<Flat> {
        self.layout.line(&self.scene.flat(line))
    }

    /// The lines of pull, in pieces that are hidden or not.
    fn pulls(&self) -> Vec<Stroke> {
        let stretches = self.lines().iter().flat_map(|line| self.scene.stretches(line));
        let drawn = stretches.map(|stretch| Stroke {
            behind: stretch.behind,
            ..stroke(Part::Muscle, &self.layout.line(&stretch.places))
        });
        drawn.collect()
    }

    fn arrow(&self) -> Option<Vec<Flat>> {
        let lines = self.lines().iter().map(|line| self.scene.flat(line));
        let lines: Vec<Vec<Flat>> = lines.collect();
        let arrow = arrow(self.atlas, self.scene, self.turning?, &lines, self.layout.room())?;
        Some(self.layout.line(&arrow))
    }

    fn joint(&self) -> Option<Flat> {
        let at = seen(self.scene.view, self.turning?.joint()?).at;
        self.scene.window.holds(at).then(|| self.layout.at(at))
    }

    /// The outlines of bones, from far to near.
    fn bones(&self) -> Vec<(Part, Outline)> {
        let outlines = self.scene.bones.iter().flat_map(|bone| {
            let part = if bone.attached { Part::Bone } else { Part::Neighbour };
            let solids = bone.solids.iter().map(|solid| solid.discs.as_slice());
            outlines(solids, self.scene.window).into_iter().map(move |one| (part, one))
        });
        let laid = |(part, Outline { rim, holes }): (Part, Outline)| {
            let holes = holes.iter().map(|hole| self.layout.line(hole)).collect();
            (part, Outline { rim: self.layout.line(&rim), holes })
        };
        outlines.map(laid).collect()
    }

    /// The marks of origins and insertions, each place once.
    fn marks(&self) -> Vec<Mark> {
        let mut marks: Vec<Mark> = Vec::new();
        for (part, stop) in ENDS.iter().flat_map(|(end, part)| {
            self.lines().iter().filter_map(move |line| Some((*part, stop(line, *end)?)))
        }) {
            let place = seen(self.scene.view, stop.point.at);
            let at = self.layout.at(place.at);
            if !marks.iter().any(|other| other.part == part && apart(other.at, at) < 4.0) {
                marks.push(Mark { part, at, behind: self.scene.hides(place) });
            }
        }
        marks
    }

    /// The words that look for a place: each landmark once, then what the arrow shows.
    fn wanted(&self, arrow: Option<&[Flat]>) -> Vec<Wanted> {
        let mut wanted: Vec<Wanted> = Vec::new();
        for (end, part) in ENDS {
            for line in self.lines() {
                let words = text::label(self.v, self.muscle, line, end);
                let (Some(stop), Some(words)) = (stop(line, end), words) else { continue };
                if !wanted.iter().any(|one| one.part == part && one.words == words) {
                    let at = self.layout.at(seen(self.scene.view, stop.point.at).at);
                    wanted.push(Wanted { part, at, words });
                }
            }
        }
        if let (Some(at), Some(turning)) = (arrow.and_then(half_way), self.turning) {
            let words = text::movement(self.v, self.muscle, &turning.derived);
            wanted.push(Wanted { part: Part::Motion, at, words });
        }
        wanted
    }

    /// The muscle's name, above the picture.
    fn heading(&self) -> Label {
        let at = [10, 32];
        let lines = vec![self.muscle.name.clone()];
        Label { part: Part::Muscle, at, text_at: at, right: true, lines }
    }
}

const ENDS: [(End, Part); 2] = [(End::Origin, Part::Origin), (End::Insertion, Part::Insertion)];

/// Puts the bones behind all else, as fine as there is room for.
fn with_bones(mut picture: Picture, bones: &[(Part, Outline)]) -> Picture {
    let rest = std::mem::take(&mut picture.strokes);
    let mut tolerance = FINE;
    loop {
        let drawn = bones.iter().filter_map(|(part, bone)| {
            let coarser = if *part == Part::Neighbour { COARSER } else { 1.0 };
            bone_stroke(*part, bone, tolerance * coarser)
        });
        picture.strokes = drawn.chain(rest.iter().cloned()).collect();
        if bytes(&picture) < MOST_BYTES || tolerance > COARSE {
            return picture;
        }
        tolerance *= 1.25;
    }
}

fn bone_stroke(part: Part, bone: &Outline, tolerance: f64) -> Option<Stroke> {
    let simple = |ring: &Ring| -> Option<Vec<[i16; 2]>> {
        let kept = simplified(ring, tolerance).into_iter();
        let mut points: Vec<[i16; 2]> = kept.map(crate::units).collect();
        points.dedup();
        (points.len() > 2 && area(ring) > SPECK).then_some(points)
    };
    let points = simple(&bone.rim)?;
    let holes = bone.holes.iter().filter_map(simple).collect();
    Some(Stroke { part, closed: true, behind: false, points, holes })
}

/// An open line without places that change nothing, or a mark.
fn stroke(part: Part, places: &[Flat]) -> Stroke {
    let kept = if places.len() > 2 { thinned(places, 0.7) } else { places.to_vec() };
    let points = kept.into_iter().map(crate::units).collect();
    Stroke { part, closed: false, behind: false, points, holes: Vec::new() }
}

/// Size of a picture as JSON.
fn bytes(picture: &Picture) -> usize {
    serde_json::to_string(picture).map_or(usize::MAX, |json| json.len())
}
