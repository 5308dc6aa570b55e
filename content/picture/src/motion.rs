//! The arrow that shows where a bone goes when the muscle shortens.

use std::f64::consts::PI;

use myonym_content::Atlas;
use myonym_content::atlas::Ball;
use myonym_mechanics::{Motion, Vec3};

use crate::flat::{Flat, Window, apart, length, off_piece, plus, seen, sight, times};
use crate::scene::Scene;
use crate::turning::{Course, Turning};

/// Length of the arrow as a share of the picture's longer side.
const LENGTH: f64 = 0.17;
/// An arrow turns by no more than this.
const MOST_TURN: f64 = 0.6 * PI;
/// Where one looks along the axis, an arrow keeps this share of the longer side from the joint.
const RADIUS: f64 = 0.09;
/// Room between an arrow and a line of pull, as a share of the longer side; more is not needed.
const CLEAR: f64 = 0.07;
/// Straight pieces of an arrow.
const PIECES: u8 = 12;

/// The arrow, from tail to head; `None` where none can be seen.
///
/// It starts on a bone that moves: far out, since far from the axis the motion is large, and clear
/// of the lines of pull. A bone that twists has an arrow round it. It stays in the room.
pub(crate) fn arrow(
    atlas: &Atlas,
    scene: &Scene,
    turning: &Turning,
    lines: &[Vec<Flat>],
    room: Window,
) -> Option<Vec<Flat>> {
    let [width, height] = scene.window.size();
    let drawing = Drawing { scene, turning, side: width.max(height), lines };
    let along = turning.motion.along.dot(sight(scene.view)).abs();
    let round = turning.course == Course::Twists && along < 0.5;
    let balls = moved(atlas, scene, turning);
    let tried: Vec<Vec<Flat>> = if round {
        balls.iter().filter_map(|ball| drawing.ring(ball)).collect()
    } else {
        let offsets = [0.0, -0.5];
        balls.iter().flat_map(|ball| offsets.map(|offset| drawing.sweep(ball.at, offset))).collect()
    };
    let fitting = tried.into_iter().filter(|path| path.iter().all(|at| room.holds(*at)));
    let best = fitting.max_by(|a, b| drawing.worth(a).total_cmp(&drawing.worth(b)))?;
    (length(&best) > LENGTH * drawing.side / 3.0).then_some(best)
}

/// Places on the bones that move and are shown: balls, and some between each two of a solid.
fn moved(atlas: &Atlas, scene: &Scene, turning: &Turning) -> Vec<Ball> {
    let shown = |segment| scene.bones.iter().any(|bone| bone.segment == segment);
    let moves = |segment| atlas.linkage.carries(turning.motion.segment, segment);
    let shapes = atlas.shapes.iter().filter(|one| moves(one.segment) && shown(one.segment));
    let balls = shapes.flat_map(|shape| &shape.solids).flat_map(|solid| along_rods(solid));
    balls.filter(|ball| scene.window.holds(seen(scene.view, ball.at).at)).collect()
}

fn along_rods(solid: &[Ball]) -> impl Iterator<Item = Ball> {
    let between = |a: &Ball, b: &Ball, share: f64| Ball {
        at: a.at + (b.at - a.at) * share,
        radius: a.radius + (b.radius - a.radius) * share,
    };
    let rods = solid
        .iter()
        .enumerate()
        .flat_map(|(index, a)| solid[index + 1..].iter().map(move |b| (a, b)));
    let inner = rods.flat_map(move |(a, b)| [0.25, 0.5, 0.75].map(|share| between(a, b, share)));
    solid.iter().copied().chain(inner)
}

struct Drawing<'a> {
    scene: &'a Scene,
    turning: &'a Turning,
    /// The picture's longer side.
    side: f64,
    lines: &'a [Vec<Flat>],
}

impl Drawing<'_> {
    /// 1 or -1: the sense in which the axis is turned.
    fn sense(&self) -> f64 {
        (self.turning.arm_mm * self.turning.motion.rate).signum()
    }

    /// The way of a place while the freedom turns; `offset` says how much of the turn lies before
    /// it. Too close to the axis nothing is seen to move: such a place is taken outwards.
    fn sweep(&self, start: Vec3, offset: f64) -> Vec<Flat> {
        let Motion { through, along, pitch, .. } = self.turning.motion;
        let across = (start - through).across(along);
        let end_on = along.dot(sight(self.scene.view)).abs() > 0.5;
        let least = if end_on { RADIUS * self.side } else { 0.0 };
        let radius = across.norm().max(least);
        let arm = across.unit().unwrap_or_default() * radius;
        let foot = through + along * (start - through).dot(along);
        let turn = self.sense() * (LENGTH * self.side / radius.max(1e-3)).min(MOST_TURN);
        let at = |piece: u8| {
            let angle = turn * (f64::from(piece) / f64::from(PIECES) + offset);
            seen(self.scene.view, foot + arm.turned(along, angle) + along * (pitch * angle)).at
        };
        (0..=PIECES).map(at).collect()
    }

    /// The near half of a ring round a bone, drawn as if seen a little from above, so that it is a
    /// curve and no straight line.
    fn ring(&self, ball: &Ball) -> Option<Vec<Flat>> {
        let along = self.turning.motion.along;
        let near = sight(self.scene.view).across(along).unit()?;
        let radius = (1.7 * ball.radius).max(0.45 * LENGTH * self.side);
        let centre = seen(self.scene.view, ball.at).at;
        let down = downwards(seen(self.scene.view, along).at);
        let at = |piece: u8| {
            let share = f64::from(piece) / f64::from(PIECES) - 0.5;
            let angle = self.sense() * share * 0.85 * PI;
            let out = seen(self.scene.view, near.turned(along, angle) * radius).at;
            plus(plus(centre, out), times(down, 0.4 * radius * angle.cos()))
        };
        Some((0..=PIECES).map(at).collect())
    }

    /// Clear of the lines, long, and far from the joint.
    fn worth(&self, path: &[Flat]) -> f64 {
        let off_line = |at: Flat| {
            let pieces = self.lines.iter().flat_map(|line| line.windows(2));
            pieces.map(|pair| off_piece(pair[0], pair[1], at)).fold(f64::INFINITY, f64::min)
        };
        let clear = path.iter().map(|at| off_line(*at)).fold(f64::INFINITY, f64::min);
        let joint = seen(self.scene.view, self.turning.motion.through).at;
        let out = path.iter().map(|at| apart(*at, joint)).fold(f64::INFINITY, f64::min);
        2.0 * (clear / (CLEAR * self.side)).min(1.0)
            + (length(path) / (LENGTH * self.side)).min(1.0)
            + (out / (0.5 * self.side)).min(1.0)
    }
}

/// A unit direction that points down the picture.
fn downwards(along: Flat) -> Flat {
    let length = apart(along, [0.0, 0.0]).max(1e-6);
    let unit = times(along, 1.0 / length);
    if unit[1] < 0.0 { times(unit, -1.0) } else { unit }
}

#[cfg(test)]
mod tests {
    use myonym_content::model::MuscleKey;
    use myonym_wire::View;

    use super::*;
    use crate::small::{BEFORE, BEHIND, atlas, vocabulary};
    use crate::turning::turnings;

    /// The arrow from tail to head.
    fn found(muscle: (&str, [f64; 3], [f64; 3]), view: View) -> Option<Vec<Flat>> {
        let atlas = atlas(&[muscle]);
        let key = MuscleKey::new(muscle.0);
        let lines: Vec<_> = atlas.lines(&key).iter().collect();
        let scene = Scene::new(&atlas, &vocabulary(), &lines, None, view);
        let turning = turnings(&atlas, &key).into_iter().next()?;
        arrow(&atlas, &scene, &turning, &[], scene.window.grown(0.05))
    }

    /// A muscle before a hinge takes the bone that hangs on it forwards, which is to the right for
    /// one who looks from the right side.
    #[test]
    fn the_bone_goes_to_the_side_of_the_muscle() {
        let before = found(BEFORE, View::Side).unwrap();
        assert!(before.last().unwrap()[0] > before[0][0]);
        let behind = found(BEHIND, View::Side).unwrap();
        assert!(behind.last().unwrap()[0] < behind[0][0]);
    }

    #[test]
    fn it_goes_round_the_joint() {
        let path = found(BEFORE, View::Side).unwrap();
        let off = |at: &Flat| apart(*at, [0.0, 0.0]);
        assert!(path.iter().all(|at| (off(at) - off(&path[0])).abs() < 1e-9));
    }

    #[test]
    fn of_a_swing_to_the_front_the_front_shows_little() {
        assert!(found(BEFORE, View::Front).is_none_or(|path| length(&path) < 0.06));
    }
}
