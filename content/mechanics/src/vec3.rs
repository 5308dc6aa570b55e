//! A place or a direction in space.

use std::ops::{Add, Mul, Neg, Sub};

/// A place (metres) or a direction. In the atlas X points forwards, Y up, and Z to the right.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Vec3 {
    /// Forwards.
    pub x: f64,
    /// Up.
    pub y: f64,
    /// To the right.
    pub z: f64,
}

impl Vec3 {
    /// From its three numbers.
    pub const fn new(x: f64, y: f64, z: f64) -> Self {
        Self { x, y, z }
    }

    /// The scalar product.
    pub fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y + self.z * other.z
    }

    /// The vector product.
    #[must_use]
    pub fn cross(self, other: Self) -> Self {
        Self {
            x: self.y * other.z - self.z * other.y,
            y: self.z * other.x - self.x * other.z,
            z: self.x * other.y - self.y * other.x,
        }
    }

    /// Its length.
    pub fn norm(self) -> f64 {
        self.dot(self).sqrt()
    }

    /// The same direction with length 1; `None` for a length of nearly 0 or one that is no number.
    pub fn unit(self) -> Option<Self> {
        let norm = self.norm();
        (norm.is_finite() && norm > 1e-9).then(|| self * (1.0 / norm))
    }

    /// The part of it at right angles to a direction of length 1.
    #[must_use]
    pub fn across(self, unit: Self) -> Self {
        self - unit * self.dot(unit)
    }

    /// Turned by an angle about an axis of length 1 through the origin (Rodrigues' formula).
    #[must_use]
    pub fn turned(self, axis: Self, angle: f64) -> Self {
        let (sin, cos) = angle.sin_cos();
        self * cos + axis.cross(self) * sin + axis * (axis.dot(self) * (1.0 - cos))
    }
}

impl Add for Vec3 {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self { x: self.x + other.x, y: self.y + other.y, z: self.z + other.z }
    }
}

impl Sub for Vec3 {
    type Output = Self;

    fn sub(self, other: Self) -> Self {
        Self { x: self.x - other.x, y: self.y - other.y, z: self.z - other.z }
    }
}

impl Neg for Vec3 {
    type Output = Self;

    fn neg(self) -> Self {
        self * -1.0
    }
}

impl Mul<f64> for Vec3 {
    type Output = Self;

    fn mul(self, by: f64) -> Self {
        Self { x: self.x * by, y: self.y * by, z: self.z * by }
    }
}

impl From<[f64; 3]> for Vec3 {
    fn from([x, y, z]: [f64; 3]) -> Self {
        Self { x, y, z }
    }
}
