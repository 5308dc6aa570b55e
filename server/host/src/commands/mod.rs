//! What each command does.

mod announce;
mod arms;
mod backup;
mod check;
mod choosing;
mod content;
mod doors;
mod finding;
mod forget;
mod host;
mod join;
mod picture;
pub(crate) mod plan;
mod planned;
pub(crate) mod report;

use std::io::{self, Write as _};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::time::Duration;

use anyhow::Context as _;
use directories::ProjectDirs;
use myonym_content::problem::SourceFile;

pub(crate) use choosing::Wanted;

use crate::cli::{Cli, Command, ContentCommand, PlaceArgs};

/// Time for threads that wait for a disk, once everything else has ended.
const LAST: Duration = Duration::from_secs(1);

/// Runs the command to its end. Exit code 0: done; 1: it went wrong or found problems; 2: it was
/// called in a way that cannot work.
pub(crate) fn run(cli: Cli) -> ExitCode {
    let result = match cli.command {
        Command::Host(args) => runtime().and_then(|runtime| {
            let done = runtime.block_on(host::run(args));
            // A thread that a disk holds is not waited for.
            runtime.shutdown_timeout(LAST);
            done
        }),
        Command::Join(args) => runtime().and_then(|runtime| runtime.block_on(join::run(args))),
        Command::Report(args) => report::run(&args),
        Command::Plan(args) => plan::run(&args),
        Command::Forget(args) => forget::run(&args),
        Command::Backup(args) => backup::backup(&args),
        Command::Restore(args) => backup::restore(&args),
        Command::Check(args) => Ok(check::run(&args)),
        Command::Content(ContentCommand::Show(args)) => content::show(&args),
        Command::Content(ContentCommand::Arms(args)) => arms::show(&args),
        Command::Content(ContentCommand::Picture(args)) => picture::write(&args),
        Command::Content(ContentCommand::Lists) => Ok(content::lists()),
    };
    result.unwrap_or_else(|fault| {
        complain(&format!("myonym: {fault:#}"));
        ExitCode::FAILURE
    })
}

fn runtime() -> anyhow::Result<tokio::runtime::Runtime> {
    // One thread: rooms, sockets and the clock take turns without waking another, which costs more
    // than a message does. The log has its own, and what computes for long goes to threads aside.
    tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .context("cannot start the runtime")
}

/// The folder of the data file.
fn data_folder(given: Option<PathBuf>, rehearsals: bool) -> anyhow::Result<PathBuf> {
    let folder = match given {
        Some(folder) => folder,
        None => ProjectDirs::from("", "", "myonym")
            .context("this system names no data folder; name one with --data")?
            .data_dir()
            .to_owned(),
    };
    Ok(if rehearsals { folder.join("rehearsals") } else { folder })
}

impl PlaceArgs {
    /// The folder of the data file that is meant.
    fn folder(&self) -> anyhow::Result<PathBuf> {
        data_folder(self.data.clone(), self.rehearsals)
    }
}

/// The instructor's own list, if what was given is a file and not the key of a bundled list.
fn own_list(given: &str) -> anyhow::Result<Option<SourceFile>> {
    let path = Path::new(given);
    if path.extension().is_none() && path.components().count() < 2 {
        return Ok(None);
    }
    let text = std::fs::read_to_string(path)
        .with_context(|| format!("cannot read the muscle list {given}"))?;
    Ok(Some(SourceFile { path: given.to_owned(), text }))
}

/// Where a file is, whatever folder the program is in later.
fn absolute(path: &Path) -> io::Result<PathBuf> {
    let path = std::path::absolute(path)?;
    let (Some(folder), Some(name)) = (path.parent(), path.file_name()) else { return Ok(path) };
    Ok(std::fs::canonicalize(folder)?.join(name))
}

/// Prints to standard output. A reader that went away (`| head`) is no fault of ours.
fn say(text: &str) {
    let mut out = io::stdout().lock();
    let _ = writeln!(out, "{text}").and_then(|()| out.flush());
}

/// Prints to standard error.
fn complain(text: &str) {
    let _ = writeln!(io::stderr().lock(), "{text}");
}
