//! The arrow that shows where a bone goes when the muscle shortens.

use myonym_content::Atlas;
use myonym_mechanics::{Motion, Vec3};
use myonym_wire::View;

use crate::flat::{Flat, Window, apart, off_piece, seen, sight};
use crate::scene::Scene;
use crate::turning::Turning;

/// Length of the arrow as a share of the picture's longer side.
const LENGTH: f64 = 0.17;
/// An arrow turns by no more than this, in radians.
const MOST_TURN: f64 = 2.1;
/// Where one looks along the axis, an arrow keeps this share of the longer side from the joint.
const RADIUS: f64 = 0.09;
/// Room between an arrow and a line of pull, as a share of the longer side; more is not needed.
const CLEAR: f64 = 0.06;
/// Straight pieces of an arrow.
const PIECES: u8 = 10;

/// The arrow, from tail to head; `None` where none can be seen.
///
/// It starts on a ball of a bone that moves, as far out as there is room, since far from the axis
/// the motion is large; and clear of the lines of pull.
pub(crate) fn arrow(
    atlas: &Atlas,
    scene: &Scene,
    turning: &Turning<'_>,
    lines: &[Vec<Flat>],
) -> Option<Vec<Flat>> {
    let [width, height] = scene.window.size();
    let side = width.max(height);
    let room = scene.window.grown(-0.02 * side);
    let starts = starts(atlas, scene, turning, side);
    let tried = starts.iter().flat_map(|start| {
        [-0.5, 0.0, -1.0].map(|offset| sweep(scene.view, turning, *start, side, offset))
    });
    let fitting = tried.filter(|path| path.iter().all(|at| room.holds(*at)));
    let worth = |path: &Vec<Flat>| worth(path, lines, scene.window);
    let best = fitting.max_by(|a, b| worth(a).total_cmp(&worth(b)))?;
    (length(&best) > LENGTH * side / 3.0).then_some(best)
}

/// Places that the arrow may start from.
fn starts(atlas: &Atlas, scene: &Scene, turning: &Turning<'_>, side: f64) -> Vec<Vec3> {
    let Motion { through, along, .. } = turning.motion;
    let moved = |segment| atlas.linkage.carries(turning.motion.segment, segment);
    let balls = atlas.shapes.iter().filter(|shape| {
        moved(shape.segment) && scene.bones.iter().any(|bone| bone.segment == shape.segment)
    });
    let places = balls.flat_map(|shape| shape.solids.iter().flatten()).map(|ball| ball.at);
    let shown = places.filter(|place| scene.window.holds(seen(scene.view, *place).at));
    // Too close to the axis nothing is seen to move: such a place is taken outwards.
    let outwards = |place: Vec3| {
        let across = (place - through).across(along);
        match across.unit() {
            Some(unit) if across.norm() < RADIUS * side => {
                through + along * (place - through).dot(along) + unit * (RADIUS * side)
            }
            _ => place,
        }
    };
    let end_on = along.dot(sight(scene.view)).abs() > 0.5;
    shown.map(|place| if end_on { outwards(place) } else { place }).collect()
}

/// The way of a place while the freedom turns; `offset` says how much of the turn lies before it.
fn sweep(view: View, turning: &Turning<'_>, start: Vec3, side: f64, offset: f64) -> Vec<Flat> {
    let Motion { through, along, rate, pitch, .. } = turning.motion;
    let sense = (turning.arm_mm * rate).signum();
    let speed = (start - through).across(along).norm().max(1e-3);
    let turn = (LENGTH * side / speed).min(MOST_TURN);
    let at = |piece: u8| {
        let angle = sense * turn * (f64::from(piece) / f64::from(PIECES) + offset);
        seen(view, through + (start - through).turned(along, angle) + along * (pitch * angle)).at
    };
    (0..=PIECES).map(at).collect()
}

/// Clear of the lines, long, and far out.
fn worth(path: &[Flat], lines: &[Vec<Flat>], window: Window) -> f64 {
    let [width, height] = window.size();
    let side = width.max(height);
    let off_line = |at: Flat| {
        let pieces = lines.iter().flat_map(|line| line.windows(2));
        pieces.map(|pair| off_piece(pair[0], pair[1], at)).fold(f64::INFINITY, f64::min)
    };
    let clear = path.iter().map(|at| off_line(*at)).fold(f64::INFINITY, f64::min);
    2.0 * (clear / (CLEAR * side)).min(1.0) + (length(path) / (LENGTH * side)).min(1.0)
        - 0.3 * apart(path[0], window.middle()) / side * 0.0
}

fn length(path: &[Flat]) -> f64 {
    path.windows(2).map(|pair| apart(pair[0], pair[1])).sum()
}
