//! The data file copied whole, and a copy put in its place.

use std::ffi::OsString;
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use rusqlite::backup::{Backup, StepResult};
use rusqlite::{Connection, OpenFlags};
use uuid::Uuid;

use super::schema::VERSION;
use super::sqlite::{connect, file_in, lock, make_private_folder, open_error, sql, version};
use super::{SqliteLog, StoreError};
use myonym_wire::ReviewId;

/// Pages copied in one step, between two looks at how far it is: a megabyte.
const STEP: i32 = 256;

/// A file that was looked through and is whole.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Whole {
    /// Its form.
    pub(crate) form: i64,
    /// Its size.
    pub(crate) bytes: u64,
    /// Its reviews.
    pub(crate) reviews: Vec<ReviewId>,
    /// Their answers.
    pub(crate) answers: u64,
}

/// What a restoring did.
#[derive(Debug)]
pub(crate) struct Restored {
    /// What was put in.
    pub(crate) whole: Whole,
    /// Where the file is that stood there before.
    pub(crate) aside: Option<PathBuf>,
}

impl SqliteLog {
    /// Opens the file in `folder`, of whatever form up to ours, to copy it beside a host that may be
    /// writing; and its form.
    pub(crate) fn open_to_copy(folder: &Path) -> Result<(Self, i64), StoreError> {
        let path = file_in(folder);
        if !path.exists() {
            return Err(StoreError::Missing(path));
        }
        let log = Self::of(&path, connect(&path, OpenFlags::empty())?);
        let form = log.ask(version)?;
        Ok((log, form))
    }

    /// Copies all that is in the file now to a new file of one part. `look` is told how many of how
    /// many pages are done. Nobody waits for it, and what is written meanwhile is not in the copy.
    pub(crate) fn copy_to(
        &self,
        place: &Path,
        look: impl FnMut(i32, i32),
    ) -> Result<(), StoreError> {
        private(place).map_err(|fault| open_error(place, &fault))?;
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let mut copy = Connection::open_with_flags(place, flags).map_err(|at| sql(place, at))?;
        self.ask(|file| {
            // What this reader sees stays as it is until it lets go: without that, each commit of
            // the host would begin the copy anew.
            file.execute_batch("BEGIN; SELECT COUNT(*) FROM sqlite_schema;")?;
            let copied = copy_pages(file, &mut copy, look);
            file.execute_batch("COMMIT")?;
            copied?;
            copy.execute_batch("PRAGMA journal_mode = DELETE;")
        })
    }
}

fn copy_pages(
    file: &Connection,
    copy: &mut Connection,
    mut look: impl FnMut(i32, i32),
) -> rusqlite::Result<()> {
    let copying = Backup::new(file, copy)?;
    loop {
        let step = copying.step(STEP)?;
        let progress = copying.progress();
        look(progress.pagecount - progress.remaining, progress.pagecount);
        if step == StepResult::Done {
            return Ok(());
        }
    }
}

/// Looks a file through: the pages, by `SQLite`'s own check, and the chain of every review. It is
/// left as it is.
pub(crate) fn check(path: &Path) -> Result<Whole, StoreError> {
    let bytes = path.metadata().map_err(|fault| open_error(path, &fault))?.len();
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let file = Connection::open_with_flags(path, flags).map_err(|fault| sql(path, fault))?;
    let log = SqliteLog::of(path, file);
    let form = log.ask(version)?;
    if form > VERSION {
        return Err(StoreError::Newer { path: path.to_owned(), found: form });
    }
    let broken = |what: &str| StoreError::Broken { path: path.to_owned(), what: what.to_owned() };
    if form < 1 {
        return Err(broken("it is no data file of myonym"));
    }
    let found: String =
        log.ask(|file| file.query_row("PRAGMA integrity_check(1)", [], |row| row.get(0)))?;
    if found != "ok" {
        return Err(broken(&found));
    }
    let read = |row: &rusqlite::Row<'_>| Ok(ReviewId(Uuid::from_bytes(row.get(0)?)));
    let reviews: Vec<ReviewId> = log.query("SELECT id FROM review ORDER BY id", [], read)?;
    let mut answers = 0;
    for review in &reviews {
        log.walk(*review, |line| {
            let kind = line.kind().map_err(|fault| fault.to_string())?;
            answers += u64::from(kind == "answered");
            Ok(())
        })?;
    }
    Ok(Whole { form, bytes, reviews, answers })
}

/// Puts a copy of `file` in place as the data file of `folder`. One that stands there is kept aside
/// as `aside` if that is given. Whatever goes wrong before the last step leaves the folder as it
/// was.
pub(crate) fn restore(
    file: &Path,
    folder: &Path,
    aside: Option<&str>,
) -> Result<(Restored, SqliteLog), StoreError> {
    if !file.exists() {
        return Err(StoreError::Missing(file.to_owned()));
    }
    make_private_folder(folder).map_err(|fault| open_error(folder, &fault))?;
    let lock = lock(folder)?;
    let place = file_in(folder);
    let there = parts(&place).iter().any(|part| part.exists());
    if there && aside.is_none() {
        return Err(StoreError::Occupied(place));
    }
    let part = beside(&place, ".part");
    let copied = copy_and_check(file, &part);
    let moved = copied.and_then(|whole| {
        let moved = aside.filter(|_| there).map(|name| set_aside(&place, &folder.join(name)));
        let aside = moved.transpose().map_err(|fault| open_error(&place, &fault))?;
        fs::rename(&part, &place).map_err(|fault| open_error(&place, &fault))?;
        Ok(Restored { whole, aside })
    });
    if moved.is_err() {
        // Half a copy is of no use; that it may not be there is no further fault.
        let _ = fs::remove_file(&part);
    }
    let restored = moved?;
    sync_folder(folder).map_err(|fault| open_error(folder, &fault))?;
    Ok((restored, SqliteLog::open_locked(folder, lock)?))
}

fn copy_and_check(file: &Path, part: &Path) -> Result<Whole, StoreError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let source = Connection::open_with_flags(file, flags).map_err(|fault| sql(file, fault))?;
    // One of a stop in the midst of a restoring: nobody else has the folder.
    let _ = fs::remove_file(part);
    SqliteLog::of(file, source).copy_to(part, |_, _| ())?;
    // What is wrong with the copy is wrong with the file.
    check(part).map_err(|fault| fault.of(file))
}

/// Moves a data file with what belongs to it.
fn set_aside(place: &Path, aside: &Path) -> io::Result<PathBuf> {
    for (from, to) in parts(place).iter().zip(parts(aside)) {
        if from.exists() {
            fs::rename(from, to)?;
        }
    }
    Ok(aside.to_owned())
}

/// A data file, its write-ahead log and the index of that. The log first: a file without its log is
/// a file of some moments ago, a log without its file would be taken for that of the next one.
fn parts(place: &Path) -> [PathBuf; 3] {
    [beside(place, "-wal"), beside(place, "-shm"), place.to_owned()]
}

/// A path with something added to its name.
pub(crate) fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = OsString::from(path);
    name.push(ending);
    PathBuf::from(name)
}

/// Makes a file that is not there yet, and that nobody else may read.
fn private(path: &Path) -> io::Result<File> {
    let mut options = fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(path)
}

/// Sees to it that names in a folder are on disk.
pub(crate) fn sync_folder(folder: &Path) -> io::Result<()> {
    if cfg!(unix) { File::open(folder)?.sync_all() } else { Ok(()) }
}
