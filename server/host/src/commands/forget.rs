//! `myonym forget`.

use std::fs;
use std::io::{self, BufRead as _, IsTerminal as _, Write as _};
use std::process::ExitCode;

use anyhow::{Context as _, bail};
use jiff::civil::Date;

use super::choosing::Wanted;
use super::finding::{self, Found};
use super::{complain, say};
use crate::cli::ForgetArgs;
use crate::clock;
use crate::reading::{self, Held};
use crate::store::{Export, ExportKind, Gone, SqliteLog, StoreError};

/// Removes a student or reviews from the data file, and says what there was of them.
pub(super) fn run(args: &ForgetArgs) -> anyhow::Result<ExitCode> {
    if !(args.all || is_narrowed(args) || !args.student.is_empty()) {
        bail!("say what to forget: --student, --review, --before, --section or --all");
    }
    let folder = args.place.folder()?;
    if !folder.join("myonym.sqlite").exists() {
        return Ok(nothing("nothing was recorded here"));
    }
    let log = SqliteLog::open(&folder)?;
    let all = reading::held(&log)?;
    let Some(reviews) = chosen(args, &all)? else {
        return Ok(nothing("no review is of that section"));
    };
    let what = match &args.student[..] {
        [] => What::Reviews(reviews),
        names => match finding::find(&log, &reviews, names)? {
            Some(found) => What::Student(found),
            None => {
                return Ok(nothing(&format!("nobody here is called {}", names.join(" or "))));
            }
        },
    };
    let there = what.count(&log)?;
    if there == Gone::default() {
        return Ok(nothing("no review is so old, or so named"));
    }
    let copies = what.copies(&log)?;
    say(&format!("To be removed: {}.", what.words(there)));
    tell_copies(&copies, args.exports);
    if !args.yes && !confirmed()? {
        say("Nothing was removed.");
        return Ok(ExitCode::SUCCESS);
    }
    let gone = what.remove(&log)?;
    if args.all && args.student.is_empty() {
        log.change_pseudonyms()?;
    }
    settle_copies(&log, &copies, args.exports)?;
    say(&format!("Removed: {}.", what.words(gone)));
    if !log.build_anew()? {
        complain(
            "myonym: another program reads the data file, so its -wal file may still hold what was \
             removed; it is emptied when the next `myonym host` or `myonym forget` ends",
        );
    }
    Ok(ExitCode::SUCCESS)
}

/// What is to be forgotten.
enum What {
    Reviews(Vec<Held>),
    Student(Found),
}

impl What {
    fn count(&self, log: &SqliteLog) -> Result<Gone, StoreError> {
        self.each(
            |held| log.count_review(held.header.review),
            |review, students| log.count_students(review, students),
        )
    }

    fn remove(&self, log: &SqliteLog) -> Result<Gone, StoreError> {
        self.each(
            |held| log.remove_review(held.header.review),
            |review, students| log.remove_students(review, students),
        )
    }

    fn each(
        &self,
        whole: impl Fn(&Held) -> Result<Gone, StoreError>,
        student: impl Fn(
            myonym_wire::ReviewId,
            &std::collections::BTreeSet<myonym_wire::StudentId>,
        ) -> Result<Gone, StoreError>,
    ) -> Result<Gone, StoreError> {
        let mut sum = Gone::default();
        match self {
            Self::Reviews(reviews) => {
                for held in reviews {
                    sum += whole(held)?;
                }
            }
            Self::Student(found) => {
                for (review, students) in &found.seats {
                    sum += student(*review, students)?;
                }
            }
        }
        Ok(sum)
    }

    /// Files that hold it: of a whole review all, of a student those that tell answers one by one.
    fn copies(&self, log: &SqliteLog) -> Result<Vec<Export>, StoreError> {
        let mut exports = log.exports()?;
        exports.retain(|export| match self {
            Self::Reviews(reviews) => {
                let of = |held: &Held| export.reviews.contains(&held.header.review);
                reviews.iter().any(of)
            }
            Self::Student(found) => {
                export.kind != Some(ExportKind::Html)
                    && export.reviews.iter().any(|review| found.seats.contains_key(review))
            }
        });
        Ok(exports)
    }

    fn words(&self, gone: Gone) -> String {
        let number = |count: u64, thing: &str| {
            format!("{count} {thing}{}", if count == 1 { "" } else { "s" })
        };
        let seats = if gone.seats == 1 { "1 seat with its name" } else { "seats with their names" };
        let seats =
            if gone.seats == 1 { seats.to_owned() } else { format!("{} {seats}", gone.seats) };
        let rest = format!("{seats}, {}", number(gone.answers, "answer"));
        match self {
            Self::Reviews(_) => format!("{}, {rest}", number(gone.reviews, "review")),
            Self::Student(found) => {
                let reviews = u64::try_from(found.seats.len()).unwrap_or(u64::MAX);
                format!("{}: {rest}, in {}", found.name, number(reviews, "review"))
            }
        }
    }
}

fn is_narrowed(args: &ForgetArgs) -> bool {
    !args.review.is_empty() || args.before.is_some() || !args.section.is_empty()
}

/// The reviews that are meant; `None` if no review is of such a section (any more).
fn chosen(args: &ForgetArgs, all: &[Held]) -> anyhow::Result<Option<Vec<Held>>> {
    let before = |date: Date| date.yesterday().context("there is no day before that date");
    let wanted = Wanted {
        names: &args.review,
        sections: &args.section,
        from: None,
        to: args.before.map(before).transpose()?,
        list: None,
        study_groups: true,
    };
    if let Some(unknown) = wanted.unknown_section(all) {
        say(&unknown);
        return Ok(None);
    }
    wanted.choose(all).map(Some)
}

fn nothing(why: &str) -> ExitCode {
    say(&format!("Nothing to forget: {why}."));
    ExitCode::SUCCESS
}

/// Asks on the terminal; without one there is nobody to ask.
fn confirmed() -> anyhow::Result<bool> {
    if !(io::stdin().is_terminal() && io::stdout().is_terminal()) {
        bail!("there is no terminal to ask on; add --yes to remove it without being asked");
    }
    let mut out = io::stdout().lock();
    out.write_all(b"This cannot be undone. Type yes to remove it: ")?;
    out.flush()?;
    let mut answer = String::new();
    io::stdin().lock().read_line(&mut answer)?;
    Ok(answer.trim().eq_ignore_ascii_case("yes"))
}

fn tell_copies(copies: &[Export], delete: bool) {
    let there: Vec<&Export> = copies.iter().filter(|export| export.path.exists()).collect();
    if there.is_empty() {
        return;
    }
    say(if delete {
        "Files made of it, to be deleted:"
    } else {
        "Files made of it, which stay (--exports deletes them):"
    });
    for export in there {
        let what = match export.kind {
            Some(ExportKind::Backup) => "  (a backup, of all reviews of that time)",
            Some(_) | None => "",
        };
        say(&format!("  {}  {}{what}", clock::wall_text(export.made), export.path.display()));
    }
}

/// Deletes the files if that was asked for, and forgets those that are no more.
fn settle_copies(log: &SqliteLog, copies: &[Export], delete: bool) -> anyhow::Result<()> {
    for export in copies {
        if delete && export.path.exists() {
            fs::remove_file(&export.path)
                .with_context(|| format!("cannot delete {}", export.path.display()))?;
        }
        if !export.path.exists() {
            log.drop_export(export.id)?;
        }
    }
    Ok(())
}
