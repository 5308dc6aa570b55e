//! `myonym backup` and `myonym restore`.

use std::fs;
use std::io::{self, IsTerminal as _, Write as _};
use std::path::Path;
use std::process::ExitCode;

use anyhow::{Context as _, bail};

use super::{absolute, complain, say};
use crate::cli::{BackupArgs, RestoreArgs};
use crate::clock;
use crate::store::{self, ExportKind, FORM, SqliteLog, Whole};

/// Copies the data file, also while a host writes to it, and looks the copy through.
pub(super) fn backup(args: &BackupArgs) -> anyhow::Result<ExitCode> {
    let (log, form) = SqliteLog::open_to_copy(&args.place.folder()?)?;
    let cannot = || format!("cannot write {}", args.file.display());
    let place = absolute(&args.file).with_context(cannot)?;
    if place.exists() {
        bail!("{} is there already; choose another name", args.file.display());
    }
    // Before it is written, so that no copy is ever unknown to who removes records.
    if form == FORM {
        let reviews = log.reviews()?.iter().map(|header| header.review).collect::<Vec<_>>();
        log.remember_export(&place, ExportKind::Backup, &reviews)?;
    } else {
        complain(
            "myonym: this data file is of an older form, which cannot remember its backups: \
             `myonym forget` will not know of this one",
        );
    }
    let part = store::beside(&place, ".part");
    if part.exists() {
        bail!(
            "{} is of a backup that runs or was broken off; delete it if none runs",
            part.display()
        );
    }
    let copied = copy(&log, &part, &place);
    if copied.is_err() {
        // Half a backup is of no use; that it may not be there is no further fault.
        let _ = fs::remove_file(&part);
    }
    let whole = copied?;
    say(&format!("wrote {}: {}", args.file.display(), words(&whole)));
    say("It holds names and answers: keep it where nobody else can read it.");
    say(NO_TLS);
    Ok(ExitCode::SUCCESS)
}

fn copy(log: &SqliteLog, part: &Path, place: &Path) -> anyhow::Result<Whole> {
    let is_watched = io::stderr().is_terminal();
    let look = |done, of| {
        if is_watched {
            let _ = write!(io::stderr(), "\r{done} of {of} pages");
        }
    };
    log.copy_to(part, look)?;
    if is_watched {
        complain("");
    }
    let whole = store::check(part)?;
    // A link is not made where something has come to stand meanwhile; some file systems have none.
    if fs::hard_link(part, place).is_ok() {
        fs::remove_file(part)?;
    } else if place.exists() {
        bail!("{} has come to be there; choose another name", place.display());
    } else {
        fs::rename(part, place)?;
    }
    store::sync_folder(place.parent().context("a file is in a folder")?)?;
    Ok(whole)
}

/// Puts a backup in place of a data folder's file.
pub(super) fn restore(args: &RestoreArgs) -> anyhow::Result<ExitCode> {
    let folder = args.place.folder()?;
    let name = name_aside(&folder);
    let aside = args.replace.then_some(name.as_str());
    let (restored, log) = store::restore(&args.file, &folder, aside)?;
    say(&format!("restored {}: {}", folder.display(), words(&restored.whole)));
    if let Some(aside) = &restored.aside {
        say(&format!("what was there before is kept as {}", aside.display()));
        remember(&log, aside);
    }
    say(NO_TLS);
    Ok(ExitCode::SUCCESS)
}

/// A dated name that nothing in the folder has.
fn name_aside(folder: &Path) -> String {
    let date = clock::wall_name(clock::wall_seconds());
    let mut name = format!("myonym-replaced-{date}.sqlite");
    let mut number = 1;
    while folder.join(&name).exists() {
        number += 1;
        name = format!("myonym-replaced-{date}-{number}.sqlite");
    }
    name
}

/// What is kept aside holds records too, as far as it can be read.
fn remember(log: &SqliteLog, aside: &Path) {
    let remembered = store::check(aside)
        .and_then(|whole| log.remember_export(aside, ExportKind::Backup, &whole.reviews));
    if let Err(fault) = remembered {
        complain(&format!(
            "myonym: {fault}; so `myonym forget` will not know of it: delete it when you need it no more"
        ));
    }
}

fn words(whole: &Whole) -> String {
    let count =
        |count: u64, thing: &str| format!("{count} {thing}{}", if count == 1 { "" } else { "s" });
    let reviews = count(u64::try_from(whole.reviews.len()).unwrap_or(u64::MAX), "review");
    let answers = count(whole.answers, "answer");
    let size = whole.bytes.div_ceil(1_024);
    format!("{reviews}, {answers}, {size} KiB; looked through and whole")
}

const NO_TLS: &str = "Certificates and private keys (the folder tls) are no part of a backup; they stay where they are.";
