//! The log in one `SQLite` file.

use std::fs::{self, File, TryLockError};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use myonym_engine::Logged;
use myonym_wire::{JoinWord, Millis, ReviewId, Seq, StudentId};
use rusqlite::config::DbConfig;
use rusqlite::{
    Connection, OpenFlags, OptionalExtension as _, Row, Transaction, TransactionBehavior, params,
};
use tokio::sync::mpsc;
use tracing::error;
use uuid::Uuid;

use super::order::{Order, order};
use super::schema::{STEPS, TABLES, VERSION};
use super::writer::{self, WriterThread};
use super::{Batch, Log, Saving, SeatRow};
use crate::pseudonyms::PersonHash;
use crate::secrets::{self, TokenHash};

/// Batches that may wait for the writer; a room has one under way.
const QUEUE: usize = 8_192;

/// What went wrong with the data file, where, and what to do.
#[derive(Debug, thiserror::Error)]
pub(crate) enum StoreError {
    /// The folder or file cannot be made or opened.
    #[error("cannot open {path}: {fault} (choose another place with --data)")]
    Open {
        /// Where.
        path: PathBuf,
        /// Why.
        fault: String,
    },
    /// Another program writes to it.
    #[error("{0} is in use by another myonym host: stop that one, or choose another --data")]
    InUse(PathBuf),
    /// A newer program made it.
    #[error(
        "{path} was made by a newer myonym (form {found}; this one reads up to {VERSION}): it was left as it is"
    )]
    Newer {
        /// Where.
        path: PathBuf,
        /// Its form.
        found: i64,
    },
    /// An older program made it, and it is only to be read.
    #[error(
        "{path} was made by an older myonym (form {found}; this one reads {VERSION}): `myonym host` brings it up to date"
    )]
    Older {
        /// Where.
        path: PathBuf,
        /// Its form.
        found: i64,
    },
    /// A file is there that was not to be replaced.
    #[error(
        "{0} holds records already: choose another --data, or --replace, which keeps them aside"
    )]
    Occupied(PathBuf),
    /// The file as such is damaged, or is another.
    #[error("{path} is damaged: {what}")]
    Broken {
        /// Where.
        path: PathBuf,
        /// How it shows.
        what: String,
    },
    /// There is none.
    #[error("no data file at {0}: nothing was recorded here yet")]
    Missing(PathBuf),
    /// `SQLite` says no.
    #[error("{path}: {fault}")]
    Sql {
        /// Where.
        path: PathBuf,
        /// Why.
        fault: rusqlite::Error,
    },
    /// A row is not what it was when it was written.
    #[error("{path}: review {review} is damaged at event {seq}: {what}; earlier events are whole")]
    Damaged {
        /// Where.
        path: PathBuf,
        /// Which review.
        review: ReviewId,
        /// Which event.
        seq: u64,
        /// How it shows.
        what: String,
    },
}

impl StoreError {
    /// The same of another file, of which the one at hand is a copy.
    pub(super) fn of(self, file: &Path) -> Self {
        let path = file.to_owned();
        match self {
            Self::Open { fault, .. } => Self::Open { path, fault },
            Self::Newer { found, .. } => Self::Newer { path, found },
            Self::Older { found, .. } => Self::Older { path, found },
            Self::Sql { fault, .. } => Self::Sql { path, fault },
            Self::Damaged { review, seq, what, .. } => Self::Damaged { path, review, seq, what },
            Self::Broken { what, .. } => Self::Broken { path, what },
            Self::InUse(_) => Self::InUse(path),
            Self::Occupied(_) => Self::Occupied(path),
            Self::Missing(_) => Self::Missing(path),
        }
    }
}

/// A review in the data file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Header {
    /// The review.
    pub(crate) review: ReviewId,
    /// Its join word.
    pub(crate) word: JoinWord,
    /// Hash of its key.
    pub(crate) key: TokenHash,
    /// When it opened: wall-clock seconds.
    pub(crate) opened: i64,
    /// When its last event was written.
    pub(crate) touched: i64,
    /// Whether it is over.
    pub(crate) ended: bool,
    /// Text of the instructor's own muscle list.
    pub(crate) own_list: Option<String>,
}

/// The log in one `SQLite` file, written by one thread.
#[derive(Debug)]
pub(crate) struct SqliteLog {
    path: PathBuf,
    reader: Mutex<Connection>,
    orders: Option<mpsc::Sender<Order>>,
    writer: Option<WriterThread>,
    /// Held as long as this log is open for writing.
    _lock: Option<File>,
}

impl SqliteLog {
    /// Opens the file in `folder` for writing, and makes both if they are missing. Only one program
    /// may have it open so; any number may read.
    pub(crate) fn open(folder: &Path) -> Result<Self, StoreError> {
        make_private_folder(folder).map_err(|fault| open_error(folder, &fault))?;
        let lock = lock(folder)?;
        Self::open_locked(folder, lock)
    }

    /// The same, in a folder that this program has already.
    pub(super) fn open_locked(folder: &Path, lock: File) -> Result<Self, StoreError> {
        let path = file_in(folder);
        let connection = connect(&path, OpenFlags::SQLITE_OPEN_CREATE)?;
        prepare(&connection, &path)?;
        let reader = connect(&path, OpenFlags::empty())?;
        let (orders, waiting) = mpsc::channel(QUEUE);
        let writer = WriterThread::start(move || writer::run(connection, waiting))
            .map_err(|fault| open_error(&path, &fault))?;
        Ok(Self {
            path,
            reader: Mutex::new(reader),
            orders: Some(orders),
            writer: Some(writer),
            _lock: Some(lock),
        })
    }

    /// Opens the file in `folder` to read it, beside a host that may be writing.
    pub(crate) fn open_to_read(folder: &Path) -> Result<Self, StoreError> {
        let path = file_in(folder);
        if !path.exists() {
            return Err(StoreError::Missing(path));
        }
        Self::open_file_to_read(&path)
    }

    pub(super) fn open_file_to_read(path: &Path) -> Result<Self, StoreError> {
        let path = path.to_owned();
        let reader = connect(&path, OpenFlags::empty())?;
        let version = version(&reader).map_err(|fault| sql(&path, fault))?;
        if version < VERSION {
            return Err(StoreError::Older { path, found: version });
        }
        Ok(Self::of(&path, reader))
    }

    /// What reads a file through a connection, whatever its form.
    pub(super) fn of(path: &Path, reader: Connection) -> Self {
        let (path, reader) = (path.to_owned(), Mutex::new(reader));
        Self { path, reader, orders: None, writer: None, _lock: None }
    }

    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    /// All reviews, newest first.
    pub(crate) fn reviews(&self) -> Result<Vec<Header>, StoreError> {
        self.query(
            "SELECT id, word, key_hash, opened_s, touched_s, ended, own_list FROM review \
             ORDER BY opened_s DESC, id DESC",
            [],
            header,
        )
    }

    /// The hash of the server's key, if one was made to last.
    pub(crate) fn host_key(&self) -> Result<Option<TokenHash>, StoreError> {
        self.ask(|file| {
            let key = file.query_row("SELECT key_hash FROM host", [], |row| row.get(0));
            key.optional().map(|key| key.map(TokenHash))
        })
    }

    /// Keeps the hash of the server's key in place of any other.
    pub(crate) fn keep_host_key(&self, key: &TokenHash) -> Result<(), StoreError> {
        self.change(|change| {
            change.execute("DELETE FROM host", [])?;
            change.execute("INSERT INTO host (key_hash) VALUES (?1)", [key.0]).map(|_rows| ())
        })
    }

    /// How many batches wait for the writer.
    pub(crate) fn waiting(&self) -> usize {
        let filled = |orders: &mpsc::Sender<Order>| orders.max_capacity() - orders.capacity();
        self.orders.as_ref().map_or(0, filled)
    }

    /// Asks the file something.
    pub(super) fn ask<T>(
        &self,
        question: impl FnOnce(&Connection) -> rusqlite::Result<T>,
    ) -> Result<T, StoreError> {
        let reader = self.reader.lock().unwrap_or_else(PoisonError::into_inner);
        question(&reader).map_err(|fault| sql(&self.path, fault))
    }

    /// Changes the file beside the writer of events: all or nothing, and on disk when it returns.
    /// It must be short, for the writer waits, and no event that a room has written may change.
    pub(super) fn change<T>(
        &self,
        change: impl FnOnce(&Transaction<'_>) -> rusqlite::Result<T>,
    ) -> Result<T, StoreError> {
        let mut connection = self.reader.lock().unwrap_or_else(PoisonError::into_inner);
        let changed = || {
            let behavior = TransactionBehavior::Immediate;
            let transaction = connection.transaction_with_behavior(behavior)?;
            let told = change(&transaction)?;
            transaction.commit()?;
            Ok(told)
        };
        changed().map_err(|fault| sql(&self.path, fault))
    }

    pub(super) fn query<T>(
        &self,
        query: &str,
        parameters: impl rusqlite::Params,
        read: impl FnMut(&Row<'_>) -> rusqlite::Result<T>,
    ) -> Result<Vec<T>, StoreError> {
        let reader = self.reader.lock().unwrap_or_else(PoisonError::into_inner);
        reader
            .prepare_cached(query)
            .and_then(|mut statement| statement.query_map(parameters, read)?.collect())
            .map_err(|fault| sql(&self.path, fault))
    }

    pub(crate) fn damaged(&self, review: ReviewId, seq: u64, what: &dyn ToString) -> StoreError {
        StoreError::Damaged { path: self.path.clone(), review, seq, what: what.to_string() }
    }
}

impl Log for SqliteLog {
    fn append(&self, batch: Batch) -> Saving {
        let (order, saving) = order(batch);
        // What is refused is dropped, and so answered: the log is closed.
        let _refused = self.orders.as_ref().map(|orders| orders.try_send(order));
        saving
    }

    fn read(&self, review: ReviewId, after: Seq) -> Result<Vec<Logged>, StoreError> {
        let rows: Vec<(u64, u64, String, [u8; 32])> = self.query(
            "SELECT seq, at_ms, body, chain FROM event WHERE review = ?1 ORDER BY seq",
            [review.0.as_bytes()],
            |row| {
                let unsigned = |i| row.get::<_, i64>(i).map(i64::unsigned_abs);
                Ok((unsigned(0)?, unsigned(1)?, row.get(2)?, row.get(3)?))
            },
        )?;
        let mut chain = [0; 32];
        let mut events = Vec::new();
        for (expected, (seq, at, body, kept)) in (1..).zip(rows) {
            if seq != expected {
                return Err(self.damaged(review, expected, &"it is missing"));
            }
            chain = writer::link(&chain, &body);
            if chain != kept {
                return Err(self.damaged(review, seq, &"its text was changed"));
            }
            if seq > after.0 {
                let event = myonym_wire::decode(&body)
                    .map_err(|fault| self.damaged(review, seq, &fault))?;
                events.push(Logged { seq: Seq(seq), at: Millis(at), event });
            }
        }
        Ok(events)
    }

    fn seats(&self, review: ReviewId) -> Result<Vec<SeatRow>, StoreError> {
        self.query(
            "SELECT student, token_hash, name, person_hash, class_group FROM seat WHERE review = ?1",
            params![review.0.as_bytes()],
            |row| {
                Ok(SeatRow {
                    student: StudentId(Uuid::from_bytes(row.get(0)?)),
                    token: TokenHash(row.get(1)?),
                    name: row.get(2)?,
                    person: row.get::<_, Option<_>>(3)?.map(PersonHash),
                    group: row.get(4)?,
                })
            },
        )
    }
}

impl Drop for SqliteLog {
    /// Waits until everything that was handed in is on disk, or the disk does not answer.
    fn drop(&mut self) {
        drop(self.orders.take());
        if let Some(writer) = self.writer.take()
            && !writer.has_ended(writer::DRAIN)
        {
            error!("the disk does not answer; what was handed to it last may not be saved");
        }
    }
}

/// The data file in a folder.
pub(super) fn file_in(folder: &Path) -> PathBuf {
    folder.join("myonym.sqlite")
}

pub(super) fn lock(folder: &Path) -> Result<File, StoreError> {
    let path = folder.join("myonym.lock");
    let file = File::create(&path).map_err(|fault| open_error(&path, &fault))?;
    match file.try_lock() {
        Ok(()) => Ok(file),
        Err(TryLockError::WouldBlock) => Err(StoreError::InUse(file_in(folder))),
        Err(TryLockError::Error(fault)) => Err(open_error(&path, &fault)),
    }
}

/// Opens the file with the settings that every connection has: write-ahead log, and a sync to the
/// disk itself at each commit (also on systems where a plain sync stops at the drive's cache).
pub(super) fn connect(path: &Path, extra: OpenFlags) -> Result<Connection, StoreError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX | extra;
    let connection =
        Connection::open_with_flags(path, flags).map_err(|fault| open_error(path, &fault))?;
    make_private(path).map_err(|fault| open_error(path, &fault))?;
    refuse_newer(&connection, path)?;
    connection
        .execute_batch(
            "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA fullfsync = ON; \
             PRAGMA checkpoint_fullfsync = ON; PRAGMA busy_timeout = 5000; \
             PRAGMA foreign_keys = ON; PRAGMA secure_delete = ON;",
        )
        .map_err(|fault| open_error(path, &fault))?;
    Ok(connection)
}

/// Refuses a file of a form to come before anything is written to it, be it its write-ahead log that
/// comes in when it is closed.
fn refuse_newer(connection: &Connection, path: &Path) -> Result<(), StoreError> {
    let keep = |on| connection.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, on);
    keep(true).map_err(|fault| sql(path, fault))?;
    let found = version(connection).map_err(|fault| sql(path, fault))?;
    if found > VERSION {
        return Err(StoreError::Newer { path: path.to_owned(), found });
    }
    keep(false).map(|_was| ()).map_err(|fault| sql(path, fault))
}

/// Makes the tables of an empty file, or brings an older one up to date, all or nothing.
fn prepare(connection: &Connection, path: &Path) -> Result<(), StoreError> {
    let found = version(connection).map_err(|fault| sql(path, fault))?;
    let changes = match usize::try_from(found) {
        Ok(0) => TABLES.to_owned(),
        Ok(form) if found <= VERSION => STEPS.iter().skip(form - 1).copied().collect(),
        Ok(_) | Err(_) => return Err(StoreError::Newer { path: path.to_owned(), found }),
    };
    // A file of this form is not written to: a start waits for every write to reach the disk. What
    // fails half-way is not committed, and undone when the file is closed.
    let change = || {
        let made = found == VERSION && connection.query_row(HAS_KEY, [], |row| row.get(0))?;
        if made {
            return Ok(());
        }
        connection.execute_batch(&format!("BEGIN; {changes} PRAGMA user_version = {VERSION};"))?;
        connection.execute(MAKE_KEY, [secrets::pseudonym_key()])?;
        connection.execute_batch("COMMIT;")
    };
    change().map_err(|fault| sql(path, fault))
}

const HAS_KEY: &str = "SELECT EXISTS (SELECT 1 FROM folder)";
const MAKE_KEY: &str =
    "INSERT INTO folder (pseudonym_key) SELECT ?1 WHERE NOT EXISTS (SELECT 1 FROM folder)";

pub(super) fn version(connection: &Connection) -> rusqlite::Result<i64> {
    connection.query_row("PRAGMA user_version", [], |row| row.get(0))
}

fn header(row: &Row<'_>) -> rusqlite::Result<Header> {
    let word: String = row.get(1)?;
    let word = word.parse().map_err(|fault: myonym_wire::BadJoinWord| {
        rusqlite::Error::FromSqlConversionFailure(1, rusqlite::types::Type::Text, fault.into())
    })?;
    Ok(Header {
        review: ReviewId(Uuid::from_bytes(row.get(0)?)),
        word,
        key: TokenHash(row.get(2)?),
        opened: row.get(3)?,
        touched: row.get(4)?,
        ended: row.get(5)?,
        own_list: row.get(6)?,
    })
}

pub(super) fn open_error(path: &Path, fault: &impl ToString) -> StoreError {
    StoreError::Open { path: path.to_owned(), fault: fault.to_string() }
}

pub(super) fn sql(path: &Path, fault: rusqlite::Error) -> StoreError {
    StoreError::Sql { path: path.to_owned(), fault }
}

/// Student records are private: nobody but the owner may read the folder or the file.
pub(super) fn make_private_folder(folder: &Path) -> io::Result<()> {
    if folder.is_dir() {
        return Ok(());
    }
    fs::create_dir_all(folder)?;
    set_mode(folder, 0o700)
}

fn make_private(path: &Path) -> io::Result<()> {
    set_mode(path, 0o600)
}

#[cfg(unix)]
fn set_mode(path: &Path, mode: u32) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt as _;
    fs::set_permissions(path, fs::Permissions::from_mode(mode))
}

#[cfg(not(unix))]
fn set_mode(_path: &Path, _mode: u32) -> io::Result<()> {
    Ok(())
}
