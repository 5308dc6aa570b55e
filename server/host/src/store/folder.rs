//! What the data file keeps of the folder itself: its key of pseudonyms, for how long reviews are
//! kept, and which files were made of them.

use std::path::{Path, PathBuf};

use myonym_wire::ReviewId;
use rusqlite::{OptionalExtension as _, params};
use uuid::Uuid;

use super::{SqliteLog, StoreError};
use crate::clock;
use crate::pseudonyms::Pseudonyms;

/// What kind of file was made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum ExportKind {
    /// A page that counts answers and holds no student.
    Html,
    /// Answers one by one, under pseudonyms.
    Xapi,
    /// The same as a table.
    Parquet,
    /// The data file itself, with names and all.
    Backup,
}

/// A file that was made of some reviews.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Export {
    /// Its number.
    pub(crate) id: i64,
    /// Where it was written.
    pub(crate) path: PathBuf,
    /// Its kind; `None` if a later program made it.
    pub(crate) kind: Option<ExportKind>,
    /// When: wall-clock seconds.
    pub(crate) made: i64,
    /// What it was made of.
    pub(crate) reviews: Vec<ReviewId>,
}

impl ExportKind {
    /// What the data file calls it.
    pub(crate) fn as_str(self) -> &'static str {
        match self {
            Self::Html => "html",
            Self::Xapi => "xapi",
            Self::Parquet => "parquet",
            Self::Backup => "backup",
        }
    }

    fn read(text: &str) -> Option<Self> {
        let all = [Self::Html, Self::Xapi, Self::Parquet, Self::Backup];
        all.into_iter().find(|kind| kind.as_str() == text)
    }
}

impl SqliteLog {
    /// What makes pseudonyms here.
    pub(crate) fn pseudonyms(&self) -> Result<Pseudonyms, StoreError> {
        self.ask(|file| {
            let query = "SELECT pseudonym_key FROM folder";
            file.query_row(query, [], |row| row.get(0).map(Pseudonyms::new))
        })
    }

    /// For how many seconds reviews are kept after their end; `None` for ever.
    pub(crate) fn keep(&self) -> Result<Option<i64>, StoreError> {
        self.ask(|file| {
            let kept = file.query_row("SELECT keep_s FROM folder", [], |row| row.get(0));
            kept.optional().map(Option::flatten)
        })
    }

    /// Says for how many seconds reviews are to be kept after their end; `None` for ever.
    pub(crate) fn set_keep(&self, seconds: Option<i64>) -> Result<(), StoreError> {
        self.change(|change| change.execute("UPDATE folder SET keep_s = ?1", [seconds]).map(|_| ()))
    }

    /// Remembers that a file is being made of these reviews. A file of before at the same path is
    /// no more.
    pub(crate) fn remember_export(
        &self,
        path: &Path,
        kind: ExportKind,
        reviews: &[ReviewId],
    ) -> Result<(), StoreError> {
        let path = path.to_string_lossy();
        self.change(|change| {
            change.execute("DELETE FROM export WHERE path = ?1", [&path])?;
            change.execute(
                "INSERT INTO export (path, kind, made_s) VALUES (?1, ?2, ?3)",
                params![path, kind.as_str(), clock::wall_seconds()],
            )?;
            let export = change.last_insert_rowid();
            let mut insert = change
                .prepare("INSERT OR IGNORE INTO export_review (export, review) VALUES (?1, ?2)")?;
            for review in reviews {
                insert.execute(params![export, review.0.as_bytes()])?;
            }
            Ok(())
        })
    }

    /// The files that were made, oldest first.
    pub(crate) fn exports(&self) -> Result<Vec<Export>, StoreError> {
        let mut exports: Vec<Export> = self.query(
            "SELECT id, path, kind, made_s FROM export ORDER BY made_s, id",
            [],
            |row| {
                Ok(Export {
                    id: row.get(0)?,
                    path: PathBuf::from(row.get::<_, String>(1)?),
                    kind: ExportKind::read(&row.get::<_, String>(2)?),
                    made: row.get(3)?,
                    reviews: Vec::new(),
                })
            },
        )?;
        for export in &mut exports {
            export.reviews = self.query(
                "SELECT review FROM export_review WHERE export = ?1 ORDER BY review",
                [export.id],
                |row| Ok(ReviewId(Uuid::from_bytes(row.get(0)?))),
            )?;
        }
        Ok(exports)
    }

    /// Forgets that a file was made.
    pub(crate) fn drop_export(&self, export: i64) -> Result<(), StoreError> {
        self.change(|change| {
            change.execute("DELETE FROM export WHERE id = ?1", [export]).map(|_rows| ())
        })
    }
}
