//! How far a moment arm can be trusted.

use crate::arm::Point;
use crate::linkage::{FreedomId, Linkage};
use crate::pose::Posture;
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
        let deviations = self.arm_mm.abs() / self.sd_mm.max(1e-9);
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
    /// The moment arm in a posture, with the standard deviation that follows from those of the
    /// points and of the axis: independent errors, first order.
    pub fn estimate(
        &self,
        posture: &Posture,
        freedom: FreedomId,
        path: &[Point],
    ) -> Option<Estimate> {
        let arm_mm = self.pose(posture).arm_mm(freedom, path)?;
        let variance = self.variance_of_points(posture, freedom, path)
            + self.variance_of_axis(posture, freedom, path);
        Some(Estimate { arm_mm, sd_mm: variance.sqrt() })
    }

    fn variance_of_points(&self, posture: &Posture, freedom: FreedomId, path: &[Point]) -> f64 {
        let pose = self.pose(posture);
        let mut path = path.to_vec();
        let mut variance = 0.0;
        for index in 0..path.len() {
            let Point { at, spread, .. } = path[index];
            for direction in COORDINATES {
                let mut arm = |step: f64| {
                    path[index].at = at + direction * step;
                    pose.arm_mm(freedom, &path).unwrap_or_default()
                };
                let slope = (arm(STEP) - arm(-STEP)) / (2.0 * STEP);
                variance += (slope * spread).powi(2);
                path[index].at = at;
            }
        }
        variance
    }

    fn variance_of_axis(&self, posture: &Posture, freedom: FreedomId, path: &[Point]) -> f64 {
        let Some(spread) = self.freedom(freedom).map(|freedom| freedom.spread) else { return 0.0 };
        let mut linkage = self.clone();
        let mut variance = 0.0;
        // A shift along the axis changes nothing, so that all three coordinates may be tried.
        for direction in COORDINATES {
            let mut arm = |step: f64| {
                let shift = direction * step;
                let kept = self.freedoms[freedom.0].motions.iter();
                linkage.freedoms[freedom.0].motions = kept
                    .map(|motion| crate::Motion { through: motion.through + shift, ..*motion })
                    .collect();
                linkage.pose(posture).arm_mm(freedom, path).unwrap_or_default()
            };
            let slope = (arm(STEP) - arm(-STEP)) / (2.0 * STEP);
            variance += (slope * spread).powi(2);
        }
        variance
    }
}

const COORDINATES: [Vec3; 3] =
    [Vec3::new(1.0, 0.0, 0.0), Vec3::new(0.0, 1.0, 0.0), Vec3::new(0.0, 0.0, 1.0)];
