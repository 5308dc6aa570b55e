//! `myonym report`.

use std::io::IsTerminal as _;
use std::process::ExitCode;

use anyhow::{Context as _, bail};
use myonym_content::Catalogue;
use myonym_engine::Review;
use myonym_insight::{Report, ReviewInfo, Tally, render};
use myonym_wire::Seq;

use super::{data_folder, say};
use crate::cli::ReportArgs;
use crate::clock;
use crate::store::{Header, Log as _, SqliteLog};

/// Columns of a report where there is no terminal to ask.
const WIDTH: u16 = 80;

/// Lists reviews, or reports on those chosen.
pub(super) fn run(args: &ReportArgs) -> anyhow::Result<ExitCode> {
    let folder = data_folder(args.data.clone(), args.rehearsals)?;
    let log = SqliteLog::open_to_read(&folder)?;
    let headers = log.reviews()?;
    let chosen = choose(&headers, &args.reviews)?;
    let report = read(&log, &chosen, args.rehearsals)?;
    if args.reviews.is_empty() && !args.json && !args.csv {
        say(render::list(&report.reviews, width()).trim_end());
    } else {
        let text = if args.json {
            render::json(&report)
        } else if args.csv {
            render::csv(&report)?
        } else {
            render::terminal(&report, width())
        };
        say(text.trim_end());
    }
    Ok(ExitCode::SUCCESS)
}

/// The report on these reviews.
pub(super) fn read(
    log: &SqliteLog,
    headers: &[&Header],
    rehearsal: bool,
) -> anyhow::Result<Report> {
    let mut tally = Tally::default();
    let mut infos = Vec::new();
    for header in headers {
        let events = log.read(header.review, Seq(0))?;
        for logged in &events {
            tally.add(logged);
        }
        let review = Review::replay(&events)
            .with_context(|| format!("review {} does not begin as a review does", header.word))?;
        let count = |things: usize| u32::try_from(things).unwrap_or(u32::MAX);
        infos.push(ReviewInfo {
            review: header.review,
            word: header.word.to_string(),
            opened: clock::wall_text(header.opened),
            list: review.settings().list_name.clone(),
            students: count(review.seats().len()),
            rounds: count(review.rounds().len()),
            ended: header.ended,
            rehearsal,
        });
    }
    Ok(Report::new(Catalogue::bundled(), infos, &tally))
}

/// Columns to write for.
pub(super) fn width() -> u16 {
    let terminal = std::io::stdout().is_terminal();
    terminal.then(myonym_play::terminal_width).flatten().unwrap_or(WIDTH)
}

/// The reviews that are meant by numbers of the list, by join words, or by `all`.
fn choose<'a>(headers: &'a [Header], wanted: &[String]) -> anyhow::Result<Vec<&'a Header>> {
    if wanted.is_empty() || wanted.iter().any(|name| name == "all") {
        return Ok(headers.iter().collect());
    }
    let mut chosen: Vec<&Header> = Vec::new();
    for name in wanted {
        let found: Vec<&Header> = match name.parse::<usize>() {
            Ok(number) => {
                number.checked_sub(1).and_then(|at| headers.get(at)).into_iter().collect()
            }
            Err(_) => headers.iter().filter(|header| header.word.as_str() == name).collect(),
        };
        if found.is_empty() {
            bail!(
                "no review is {name}; `myonym report` lists them, each with number and join word"
            );
        }
        for header in found {
            if !chosen.iter().any(|known| known.review == header.review) {
                chosen.push(header);
            }
        }
    }
    Ok(chosen)
}
