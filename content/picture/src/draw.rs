//! Which picture shows a muscle best, and which shows two.

use myonym_content::Atlas;
use myonym_content::atlas::Line;
use myonym_content::explain::separating;
use myonym_content::model::Muscle;
use myonym_content::vocabulary::Vocabulary;
use myonym_wire::{Picture, View};

use crate::scene::Scene;
use crate::sketch::Sketch;
use crate::text::Labels;
use crate::turning::{Turning, shown, turning, turnings};
use crate::view::Subject;

/// Draws a muscle with the bones concerned, from where its strongest sure actions are seen best.
/// `None` if the atlas has no line of it.
pub fn draw(atlas: &Atlas, v: &Vocabulary, muscle: &Muscle, labels: Labels) -> Option<Picture> {
    let lines: Vec<&Line> = atlas.lines(&muscle.key).iter().collect();
    if lines.is_empty() {
        return None;
    }
    let turnings = shown(&turnings(atlas, &muscle.key), muscle);
    let subject = Subject { turnings: &turnings, lines: &lines };
    let view = subject.best_view(|view| Scene::new(atlas, v, &lines, None, view).side(&lines));
    let turning = strongest(&subject, view);
    let scene = Scene::new(atlas, v, &lines, turning.and_then(Turning::joint), view);
    Some(Sketch::new(atlas, v, muscle, &scene, turning).picture(labels))
}

/// Draws two muscles for comparison, in one frame and at one scale: from where one sees best what
/// each does at an axis that they pass on opposite sides; without such an axis, from where one sees
/// best what either does. `None` if the atlas has no line of one of them.
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
    let told = if opposed { apart.iter().flatten().cloned().collect() } else { own.concat() };
    let both = lines.concat();
    let subject = Subject { turnings: &told, lines: &both };
    let view = subject.best_view(|view| Scene::new(atlas, v, &both, None, view).side(&both));
    let centre = strongest(&subject, view).and_then(Turning::joint);
    let scene = Scene::new(atlas, v, &both, centre, view);
    let [mut first, mut second] = [0, 1].map(|index| {
        let subject = Subject { turnings: &own[index], lines: &lines[index] };
        let told = apart[index].as_ref().filter(|one| is_told(&subject, one, view));
        let turning = told.or_else(|| strongest(&subject, view));
        Sketch::new(atlas, v, pair[index], &scene, turning).picture(Labels::Shown)
    });
    let height = first.height.max(second.height);
    (first.height, second.height) = (height, height);
    Some((first, second))
}

/// The turning of which most is seen; `None` if none is seen well and sure.
fn strongest<'a>(subject: &Subject<'a>, view: View) -> Option<&'a Turning> {
    let told = subject.turnings.iter().filter(|one| is_told(subject, one, view));
    told.max_by(|a, b| subject.seen_mm(a, view).total_cmp(&subject.seen_mm(b, view)))
}

/// Whether a turning is sure, and seen well enough to be told in a view.
fn is_told(subject: &Subject<'_>, turning: &Turning, view: View) -> bool {
    turning.is_sure() && subject.seen_mm(turning, view) >= turning.weight_mm() / 3.0
}
