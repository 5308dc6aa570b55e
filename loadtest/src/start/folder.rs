//! Data folders to start from.

use std::fs::{self, File};
use std::path::Path;

use anyhow::{Context, ensure};
use rusqlite::{Connection, params};

use super::Start;
use crate::args::ServerChoice;
use crate::baseline;
use crate::term::{self, Term};

/// The data file of a folder.
const FILE: &str = "myonym.sqlite";

/// Makes a folder with reviews that are over, and some that were broken off just now.
pub(super) async fn fill(program: &Path, folder: &Path, start: &Start) -> anyhow::Result<()> {
    let term = Term {
        reviews: start.ended + start.open,
        students: start.students,
        rounds: start.rounds,
        seed: 1,
        runs: 0,
        folder: None,
        program: ServerChoice::Program(program.to_owned()),
    };
    term::begin_file(program, folder).await?;
    let file = folder.join(FILE);
    term::fill(&file, &term)?;
    break_off(&file, start.open)
}

/// Takes the end from the first reviews, as if the host had been stopped in them.
fn break_off(file: &Path, reviews: u16) -> anyhow::Result<()> {
    let file = Connection::open(file)?;
    let ids: Vec<Vec<u8>> = file
        .prepare("SELECT id FROM review ORDER BY id LIMIT ?1")?
        .query_map([reviews], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    for (number, id) in ids.iter().enumerate() {
        let ends = file.execute("DELETE FROM event WHERE review = ?1 AND kind = 'ended'", [id])?;
        ensure!(ends == 1, "a review that was made up has no end to be taken away");
        file.execute(
            "UPDATE review SET ended = 0, touched_s = unixepoch(), word = ?2 WHERE id = ?1",
            params![id, baseline::word(number).as_str()],
        )?;
    }
    file.execute_batch("PRAGMA wal_checkpoint(TRUNCATE)")?;
    Ok(())
}

/// Copies the data file into a folder of its own, down to the disk, so that no start pays for it.
pub(super) fn copy(from: &Path, to: &Path) -> anyhow::Result<()> {
    let copied = || {
        fs::create_dir(to)?;
        fs::copy(from.join(FILE), to.join(FILE))?;
        File::open(to.join(FILE))?.sync_all()
    };
    copied().context("cannot copy a data file")
}
