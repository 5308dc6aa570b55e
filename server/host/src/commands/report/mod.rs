//! `myonym report`.

mod files;
mod students;

use std::collections::BTreeMap;
use std::io::IsTerminal as _;
use std::process::ExitCode;
use std::thread;

use anyhow::bail;
use myonym_content::Catalogue;
use myonym_insight::ReviewInfo;
use myonym_insight::analysis::{Analysis, ReviewWords, analyse};
use myonym_insight::render::{self, analysis as pages};
use serde::Serialize;
use tracing::debug;

use super::choosing::{Wanted, groups};
use super::{complain, say};
use crate::cli::ReportArgs;
use crate::clock::{self, Clock};
use crate::reading::{self, Held};
use crate::store::{SqliteLog, StoreError};
use students::ClassRow;

/// Columns of a report where there is no terminal to ask.
const WIDTH: u16 = 80;

/// Lists reviews, or reports on those chosen.
pub(super) fn run(args: &ReportArgs) -> anyhow::Result<ExitCode> {
    let folder = args.place.folder()?;
    let log = SqliteLog::open_to_read(&folder)?;
    let all = reading::held(&log)?;
    let wanted = wanted(args);
    if is_list(args, &wanted) {
        let infos = infos(&log, &all, args.place.rehearsals)?;
        say(render::list(&infos, width()).trim_end());
        return Ok(ExitCode::SUCCESS);
    }
    let (chosen, left_out) = (wanted.choose(&all)?, wanted.left_out(&all)?);
    if chosen.is_empty() && !all.is_empty() {
        bail!("{}", wanted.none_chosen(left_out));
    }
    if left_out > 0 {
        complain(&format!("myonym: {} left out; see --study-groups", groups(left_out)));
    }
    let group = args.group.as_deref();
    if let Some(group) = group {
        students::check_group(&log, &chosen, group)?;
    }
    if !args.student.is_empty() {
        say(students::page(&log, &chosen, &args.student)?.trim_end());
        return Ok(ExitCode::SUCCESS);
    }
    let mut filter = wanted.words();
    filter.extend(group.map(|group| format!("group {group}")));
    filter.extend((left_out > 0).then(|| format!("classes ({} left out)", groups(left_out))));
    let found = analysis(&log, &chosen, group, filter)?;
    let written = files::write(&log, &chosen, args, &found)?;
    if !written || args.print.json || args.print.csv || args.print.students {
        let rows = args.print.students.then(|| students::class(&log, &chosen, group));
        let rows = rows.transpose()?;
        say(laid_out(args, &found, rows.as_deref())?.trim_end());
    }
    Ok(ExitCode::SUCCESS)
}

/// What the class found hard and confused in these reviews.
pub(crate) fn analysis(
    log: &SqliteLog,
    reviews: &[Held],
    group: Option<&str>,
    filter: Vec<String>,
) -> Result<Analysis, StoreError> {
    let clock = Clock::start();
    let term = thread::scope(|scope| {
        // Read by then, not when it is asked for.
        scope.spawn(Catalogue::bundled);
        reading::read(log, reviews, group)
    })?;
    let read = clock.now();
    let words: Vec<ReviewWords> = reviews.iter().map(words).collect();
    let (movements, table) = (term.tally.movements(), &term.table);
    let mut found = analyse(Catalogue::bundled(), table, &words, movements, filter);
    found.unclear = term.tally.unclear_of_several();
    let (rows, reading_ms) = (table.rows().len(), read.0);
    let analysing_ms = clock.now().minus(read).0;
    debug!(rows, reading_ms, analysing_ms, "read and analysed");
    Ok(found)
}

/// Columns to write for.
pub(super) fn width() -> u16 {
    let terminal = std::io::stdout().is_terminal();
    terminal.then(myonym_play::terminal_width).flatten().unwrap_or(WIDTH)
}

fn wanted(args: &ReportArgs) -> Wanted<'_> {
    Wanted {
        names: &args.reviews,
        sections: &args.filter.section,
        from: args.filter.from,
        to: args.filter.to,
        list: args.filter.list.as_deref(),
        study_groups: args.filter.study_groups,
    }
}

/// Whether nothing was asked for but to see what there is.
fn is_list(args: &ReportArgs, wanted: &Wanted<'_>) -> bool {
    let output = args.print.json
        || args.print.csv
        || args.print.students
        || [&args.html, &args.xapi, &args.parquet].iter().any(|file| file.is_some());
    let chosen = !args.reviews.is_empty()
        || wanted.is_filter()
        || wanted.study_groups
        || args.group.is_some()
        || !args.student.is_empty();
    !output && !chosen
}

fn words(held: &Held) -> ReviewWords {
    ReviewWords {
        word: held.header.word.to_string(),
        opened: clock::wall_text(held.header.opened),
        list: held.settings.list_name.clone(),
    }
}

fn infos(
    log: &SqliteLog,
    reviews: &[Held],
    rehearsal: bool,
) -> Result<Vec<ReviewInfo>, StoreError> {
    let sizes: BTreeMap<_, _> = (log.sizes()?.into_iter())
        .map(|(review, rounds, students)| (review, (rounds, students)))
        .collect();
    let info = |held: &Held| {
        let Held { header, settings } = held;
        let (rounds, students) = sizes.get(&header.review).copied().unwrap_or_default();
        ReviewInfo {
            review: header.review,
            word: header.word.to_string(),
            opened: clock::wall_text(header.opened),
            section: if held.is_group() {
                Some("study group".to_owned())
            } else {
                settings.section.clone()
            },
            list: settings.list_name.clone(),
            students,
            rounds,
            ended: header.ended,
            rehearsal,
        }
    };
    Ok(reviews.iter().map(info).collect())
}

/// The analysis with each student's own numbers behind it.
#[derive(Serialize)]
struct WithStudents<'a> {
    #[serde(flatten)]
    analysis: &'a Analysis,
    students: &'a [ClassRow],
}

fn laid_out(
    args: &ReportArgs,
    found: &Analysis,
    students: Option<&[ClassRow]>,
) -> anyhow::Result<String> {
    Ok(match students {
        None if args.print.json => pages::json(found),
        None if args.print.csv => pages::csv(found)?,
        None => pages::terminal(found, width()),
        Some(students) if args.print.json => {
            serde_json::to_string_pretty(&WithStudents { analysis: found, students })?
        }
        Some(students) if args.print.csv => {
            let table: Vec<_> = students.iter().map(ClassRow::labelled).collect();
            format!("{}{}", pages::csv(found)?, pages::own_rows(&table)?)
        }
        Some(students) => {
            let table: Vec<_> = students.iter().map(ClassRow::labelled).collect();
            let own = render::own_list(&table, width());
            format!("{}\n{own}", pages::terminal(found, width()))
        }
    })
}
