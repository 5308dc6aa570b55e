//! The committed JSON Schema of the wire, by which every message is checked.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::sync::OnceLock;

use anyhow::{Context as _, Result, anyhow, bail};
use jsonschema::Validator;
use serde_json::Value;

/// Who is on a connection, which decides the messages that it carries.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// A student.
    Student,
    /// An instructor.
    Instructor,
    /// A board, which says nothing.
    Board,
}

const FILES: [&str; 6] =
    ["hello", "from_student", "to_student", "from_instructor", "to_instructor", "to_board"];

/// Checks a first message.
pub(crate) fn check_hello(message: &Value) -> Result<()> {
    check("hello", message)
}

/// Checks a message to the server.
pub(crate) fn check_said(role: Role, message: &Value) -> Result<()> {
    match role {
        Role::Student => check("from_student", message),
        Role::Instructor => check("from_instructor", message),
        Role::Board => bail!("a board says nothing: {message}"),
    }
}

/// Checks a message from the server.
pub(crate) fn check_heard(role: Role, message: &Value) -> Result<()> {
    match role {
        Role::Student => check("to_student", message),
        Role::Instructor => check("to_instructor", message),
        Role::Board => check("to_board", message),
    }
}

fn check(file: &str, message: &Value) -> Result<()> {
    let validator = schemas()?.get(file).with_context(|| format!("no schema {file}"))?;
    match validator.iter_errors(message).next() {
        None => Ok(()),
        Some(fault) => {
            let place = fault.instance_path();
            bail!("against {file}.json at `{place}`: {fault}\n{message}")
        }
    }
}

fn schemas() -> Result<&'static BTreeMap<&'static str, Validator>> {
    static SCHEMAS: OnceLock<Result<BTreeMap<&'static str, Validator>, String>> = OnceLock::new();
    SCHEMAS
        .get_or_init(|| read().map_err(|fault| format!("{fault:#}")))
        .as_ref()
        .map_err(|fault| anyhow!("{fault}"))
}

fn read() -> Result<BTreeMap<&'static str, Validator>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../server/wire/schema");
    let validator = |file: &'static str| {
        let path = folder.join(format!("{file}.json"));
        let text = fs::read_to_string(&path).with_context(|| path.display().to_string())?;
        let validator = jsonschema::validator_for(&serde_json::from_str(&text)?)
            .map_err(|fault| anyhow!("{}: {fault}", path.display()))?;
        Ok((file, validator))
    };
    FILES.into_iter().map(validator).collect()
}
