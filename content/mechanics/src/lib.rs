//! What a line of pull does at a joint.
//!
//! Bones are rigid segments, each carried by another; a joint's freedom turns a segment about an
//! axis; a muscle is one or more taut lines, from its origin over via points to its insertion. From
//! that follow the moment arm about each freedom, with sign and size, and how sure it is. Nothing
//! here knows a muscle's name, a file or a screen.
//!
//! Lengths are in metres and angles in radians, save where a name says millimetres.

mod arm;
mod certainty;
mod linkage;
mod passing;
mod pose;
mod vec3;

pub use arm::Point;
pub use certainty::{Certainty, Estimate};
pub use linkage::{Freedom, FreedomId, Linkage, Motion, Segment, SegmentId};
pub use passing::Passing;
pub use pose::{Pose, Posture};
pub use vec3::Vec3;
