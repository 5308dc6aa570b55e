//! A department's term made up, and how long the program takes to report on it.

mod made;
mod watched;

pub(crate) use made::fill;

use std::path::{Path, PathBuf};

use anyhow::{Context, ensure};

use crate::args::ServerChoice;
use crate::server::Source;
use crate::table::table;
use watched::Watched;

/// A term to be made and reported on.
#[derive(Debug, Clone)]
pub(crate) struct Term {
    /// Reviews.
    pub(crate) reviews: u16,
    /// Students in each.
    pub(crate) students: u16,
    /// Rounds of each.
    pub(crate) rounds: u16,
    /// What everything is drawn from.
    pub(crate) seed: u64,
    /// Reports measured; the table shows each.
    pub(crate) runs: u16,
    /// Where to leave the data file and the report; a folder that goes away if there is none.
    pub(crate) folder: Option<PathBuf>,
    /// The program.
    pub(crate) program: ServerChoice,
}

/// Makes the term, reports on it, and prints seconds and memory.
pub(crate) async fn run(term: &Term) -> anyhow::Result<()> {
    let Source::Program(program) = Source::prepare(&term.program).await? else {
        anyhow::bail!("a term needs the program itself, not a server that runs");
    };
    let own = tempfile::tempdir().context("cannot make a temporary folder")?;
    let folder = term.folder.clone().unwrap_or_else(|| own.path().join("term"));
    let file = folder.join("myonym.sqlite");
    if file.exists() {
        println!("the term in {} is there already", folder.display());
    } else {
        begin_file(&program, &folder).await?;
        let made = fill(&file, term)?;
        println!("made {} answers in {} events", made.answers, made.events);
    }
    let head = ["run", "rows", "reading (s)", "analysing (s)", "whole (s)", "memory (MiB)"];
    let mut table = table(head, 0..0);
    for run in 1..=term.runs {
        let report = folder.join("report.json");
        let Watched { rows, reading_ms, analysing_ms, whole_ms, memory_kib } =
            watched::report(&program, &folder, &report).await?;
        let asked = u64::from(term.reviews) * u64::from(term.students) * u64::from(term.rounds);
        ensure!(rows == asked || term.folder.is_some(), "{rows} rows were read of {asked}");
        let seconds = |ms: u64| format!("{}.{:03}", ms / 1_000, ms % 1_000);
        let memory = memory_kib
            .map_or_else(|| "not measured here".to_owned(), |kib| (kib / 1_024).to_string());
        let cells = [seconds(reading_ms), seconds(analysing_ms), seconds(whole_ms), memory];
        let first = [run.to_string(), rows.to_string()];
        table.add_row(first.into_iter().chain(cells));
    }
    println!("{table}");
    Ok(())
}

/// Lets the program itself make the empty data file, so that the tables are those that it has: a
/// start that cannot be, for want of a muscle list, makes it all the same.
pub(crate) async fn begin_file(program: &Path, folder: &Path) -> anyhow::Result<()> {
    let ran = tokio::process::Command::new(program)
        .args([
            "host",
            "--headless",
            "--port",
            "0",
            "--address",
            "127.0.0.1",
            "--list",
            "none-such",
        ])
        .arg("--data")
        .arg(folder)
        .output()
        .await
        .with_context(|| format!("cannot run {}", program.display()))?;
    ensure!(
        folder.join("myonym.sqlite").exists(),
        "no data file was made: {}",
        String::from_utf8_lossy(&ran.stderr)
    );
    Ok(())
}
