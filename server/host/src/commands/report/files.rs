//! Files that leave the program: a page, and answers one by one under pseudonyms.

use std::ffi::OsString;
use std::fs::{self, File};
use std::io::{BufWriter, Write as _};
use std::path::{Path, PathBuf};

use anyhow::Context as _;
use myonym_insight::analysis::Analysis;
use myonym_insight::export::{AnswerRecord, ExportError, parquet, xapi};
use myonym_insight::render::analysis as pages;
use myonym_wire::ReviewId;

use super::super::{absolute, say};
use crate::cli::ReportArgs;
use crate::reading::Held;
use crate::results::Read;
use crate::store::{ExportKind, SqliteLog, StoreError};

/// Writes the files that were asked for; whether there were any.
pub(super) fn write(
    log: &SqliteLog,
    reviews: &[Held],
    args: &ReportArgs,
    found: &Analysis,
) -> anyhow::Result<bool> {
    let export = Export { log, reviews, group: args.group.as_deref() };
    if let Some(path) = &args.html {
        export.to(path, ExportKind::Html, |out| {
            out.write_all(pages::html(found).as_bytes())?;
            Ok(None)
        })?;
    }
    if let Some(path) = &args.xapi {
        export.to(path, ExportKind::Xapi, |out| export.answers(|all| xapi::write(all, out)))?;
    }
    if let Some(path) = &args.parquet {
        export
            .to(path, ExportKind::Parquet, |out| export.answers(|all| parquet::write(all, out)))?;
    }
    Ok([&args.html, &args.xapi, &args.parquet].iter().any(|path| path.is_some()))
}

struct Export<'a> {
    log: &'a SqliteLog,
    reviews: &'a [Held],
    group: Option<&'a str>,
}

impl Export<'_> {
    /// Writes a file beside its place and moves it there when it is whole. The data file remembers
    /// it first, so that no copy is ever unknown to who removes records.
    fn to(
        &self,
        path: &Path,
        kind: ExportKind,
        write: impl FnOnce(&mut BufWriter<File>) -> anyhow::Result<Option<u64>>,
    ) -> anyhow::Result<()> {
        let cannot = || format!("cannot write {}", path.display());
        let place = absolute(path).with_context(cannot)?;
        let reviews: Vec<ReviewId> = self.reviews.iter().map(|held| held.header.review).collect();
        self.log.remember_export(&place, kind, &reviews)?;
        let mut name = OsString::from(&place);
        name.push(format!(".part{}", std::process::id()));
        let part = PathBuf::from(name);
        let written = private(&part).map_err(anyhow::Error::from).and_then(|file| {
            let mut out = BufWriter::new(file);
            let written = write(&mut out)?;
            out.into_inner().map_err(std::io::IntoInnerError::into_error)?.sync_all()?;
            fs::rename(&part, &place)?;
            Ok(written)
        });
        if written.is_err() {
            // Half a file is of no use; that it may not be there is no further fault.
            let _ = fs::remove_file(&part);
        }
        match written.with_context(cannot)? {
            Some(answers) => say(&format!("wrote {}: {answers} answers", path.display())),
            None => say(&format!("wrote {}", path.display())),
        }
        Ok(())
    }

    /// Hands all answers on, review after review.
    fn answers(
        &self,
        write: impl FnOnce(&mut dyn Iterator<Item = AnswerRecord>) -> Result<u64, ExportError>,
    ) -> anyhow::Result<Option<u64>> {
        let pseudonyms = self.log.pseudonyms()?;
        let mut fault: Option<StoreError> = None;
        let mut all = (self.reviews.iter())
            .map_while(|held| match Read::of(self.log, held, self.group) {
                Ok(read) => Some(read.records(&pseudonyms)),
                Err(damage) => {
                    fault = Some(damage);
                    None
                }
            })
            .flatten();
        let written = write(&mut all)?;
        drop(all);
        match fault {
            Some(fault) => Err(fault.into()),
            None => Ok(Some(written)),
        }
    }
}

/// A file that nobody else may read.
fn private(path: &Path) -> std::io::Result<File> {
    let mut options = fs::OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(path)
}
