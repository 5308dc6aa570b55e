//! JSON Schema of every message, generated from the types.
//!
//! The generated files stand in `server/wire/schema/`; a test fails when they drift, and
//! `UPDATE_SCHEMA=1 cargo test -p myonym-wire` writes them anew.

use schemars::Schema;

use crate::{FromInstructor, FromStudent, Hello, ToBoard, ToInstructor, ToStudent};

/// File name and schema of each direction.
pub fn all() -> [(&'static str, Schema); 6] {
    [
        ("hello.json", schemars::schema_for!(Hello)),
        ("from_student.json", schemars::schema_for!(FromStudent)),
        ("to_student.json", schemars::schema_for!(ToStudent)),
        ("from_instructor.json", schemars::schema_for!(FromInstructor)),
        ("to_instructor.json", schemars::schema_for!(ToInstructor)),
        ("to_board.json", schemars::schema_for!(ToBoard)),
    ]
}
