//! How far a moment arm can be trusted.

use crate::arm::Point;
use crate::linkage::{Freedom, FreedomId, Linkage};
use crate::pose::{Pose, Posture};
use crate::vec3::Vec3;

/// Step of the numerical derivatives, in metres.
const STEP: f64 = 1e-5;

/// A moment arm with its uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// Millimetres, positive to the freedom's positive side.
    pub arm_mm: f64,
    /// Standard deviation in millimetres.
    pub sd_mm: f64,
}

/// How sure the sign of a moment arm is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Certainty {
    /// The arm is less than one standard deviation from 0.
    CannotSay,
    /// From one to 1.96 standard deviations: right in at least 84 of 100 such cases.
    Likely,
    /// 1.96 standard deviations or more: right in at least 97.5 of 100.
    Sure,
}

impl Estimate {
    /// How sure the sign is, if errors are normal.
    pub fn certainty(self) -> Certainty {
        // No arm and no spread is no number, and so falls through to the last.
        let deviations = self.arm_mm.abs() / self.sd_mm;
        if deviations >= 1.96 {
            Certainty::Sure
        } else if deviations >= 1.0 {
            Certainty::Likely
        } else {
            Certainty::CannotSay
        }
    }
}

impl Linkage {
    /// The moment arm in a posture, with the standard deviation that follows, to first order, from
    /// those of the points, of the axis, and of the axes about which the posture bends. Errors are
    /// independent, but axes through one place share theirs; directions of axes count as exact. Too
    /// small where points on two sides of the axis lie closer together than their spread.
    pub fn estimate(
        &self,
        posture: &Posture,
        freedom: FreedomId,
        path: &[Point],
    ) -> Option<Estimate> {
        let pose = self.pose(posture);
        let arm_mm = pose.arm_mm(freedom, path)?;
        let variance = variance_of_points(&pose, freedom, path)
            + self.variance_of_axes(posture, freedom, path);
        Some(Estimate { arm_mm, sd_mm: variance.sqrt() })
    }

    fn variance_of_axes(&self, posture: &Posture, freedom: FreedomId, path: &[Point]) -> f64 {
        let mut shifted = self.bending_only(posture, freedom);
        let of_place = |(place, spread)| {
            let of_this = variance(spread, |shift| {
                self.put_axes(&mut shifted, place, place + shift);
                shifted.pose(posture).arm_mm(freedom, path)
            });
            self.put_axes(&mut shifted, place, place);
            of_this
        };
        self.places_of_axes(posture, freedom).into_iter().map(of_place).sum()
    }

    /// A copy without the axes that neither bend in a posture nor are asked about: where they are
    /// makes no difference, and a posture takes all axes along.
    fn bending_only(&self, posture: &Posture, freedom: FreedomId) -> Self {
        let counts = |id| id == freedom || posture.contains_key(&id);
        let freedoms = self.freedoms.iter().enumerate().map(|(id, own)| {
            let motions = if counts(FreedomId(id)) { own.motions.clone() } else { Vec::new() };
            Freedom { motions, turned_by: own.turned_by.clone(), spread: own.spread }
        });
        Self { segments: self.segments.clone(), freedoms: freedoms.collect() }
    }

    /// Lets the axes that run through a place here run through another in a copy.
    fn put_axes(&self, copy: &mut Self, place: Vec3, through: Vec3) {
        for (own, other) in self.freedoms.iter().zip(&mut copy.freedoms) {
            for (own, other) in own.motions.iter().zip(&mut other.motions) {
                if own.through == place {
                    other.through = through;
                }
            }
        }
    }

    /// Where the axes that count lie, and the spread there.
    fn places_of_axes(&self, posture: &Posture, freedom: FreedomId) -> Vec<(Vec3, f64)> {
        let mut places: Vec<(Vec3, f64)> = Vec::new();
        let freedoms = posture.keys().copied().filter(|&bent| bent != freedom).chain([freedom]);
        for freedom in freedoms.filter_map(|id| self.freedom(id)) {
            for motion in &freedom.motions {
                match places.iter_mut().find(|(place, _)| *place == motion.through) {
                    Some((_, spread)) => *spread = spread.max(freedom.spread),
                    None => places.push((motion.through, freedom.spread)),
                }
            }
        }
        places
    }
}

fn variance_of_points(pose: &Pose<'_>, freedom: FreedomId, path: &[Point]) -> f64 {
    let of_point = |(index, point): (usize, &Point)| {
        let mut path = path.to_vec();
        variance(point.spread, |shift| {
            path[index].at = point.at + shift;
            pose.arm_mm(freedom, &path)
        })
    };
    path.iter().enumerate().map(of_point).sum()
}

/// Variance of an arm, in square millimetres, from a spread that is the same in all directions.
fn variance(spread: f64, mut arm_mm: impl FnMut(Vec3) -> Option<f64>) -> f64 {
    let mut arm = |shift| arm_mm(shift).unwrap_or_default();
    let mut slope = |along: Vec3| (arm(along * STEP) - arm(along * -STEP)) / (2.0 * STEP);
    COORDINATES.into_iter().map(|along| (slope(along) * spread).powi(2)).sum()
}

const COORDINATES: [Vec3; 3] =
    [Vec3::new(1.0, 0.0, 0.0), Vec3::new(0.0, 1.0, 0.0), Vec3::new(0.0, 0.0, 1.0)];
