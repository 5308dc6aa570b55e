//! Where commits end in a write-ahead log. Source: the documentation of `SQLite`, "Database File
//! Format", sections 4.1 and 4.2.

use anyhow::{Context as _, Result};

const HEADER: usize = 32;
const FRAME_HEADER: usize = 24;

/// The end of each whole commit, in bytes from the start of the log; a log without a header has none.
pub(super) fn commits(log: &[u8]) -> Result<Vec<usize>> {
    if log.len() < HEADER {
        return Ok(Vec::new());
    }
    let page = usize::try_from(number(log, 8)?)?;
    let salt = log.get(16..24).context("no header")?;
    let frames = log[HEADER..].chunks_exact(FRAME_HEADER + page);
    let ends = (1..).map(|count| HEADER + count * (FRAME_HEADER + page));
    let mut commits = Vec::new();
    for (frame, end) in frames.zip(ends).take_while(|(frame, _)| &frame[8..16] == salt) {
        // The size of the database in pages, in the last frame of a commit; 0 in all others.
        if number(frame, 4)? > 0 {
            commits.push(end);
        }
    }
    Ok(commits)
}

fn number(bytes: &[u8], at: usize) -> Result<u32> {
    let bytes = bytes.get(at..at + 4).context("the log is too short")?;
    Ok(u32::from_be_bytes(bytes.try_into()?))
}
