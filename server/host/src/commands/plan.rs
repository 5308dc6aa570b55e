//! `myonym plan`.

use std::fs::OpenOptions;
use std::io::{self, Write as _};
use std::path::Path;
use std::process::ExitCode;

use anyhow::{Context as _, bail};
use myonym_content::{Catalogue, Course, MuscleKey};
use myonym_insight::plan::{Proposed, propose};
use myonym_wire::Task;

use super::choosing::{Wanted, groups};
use super::report::width;
use super::{complain, content, data_folder, planned, say};
use crate::cli::PlanArgs;
use crate::plan_file::{Row, write};
use crate::reading::{self, Held};
use crate::secrets;
use crate::store::SqliteLog;

/// Rounds where no number is asked for, of a list that is longer.
const ROUNDS: usize = 20;

/// Proposes a review, and writes it down if that is asked for.
pub(super) fn run(args: &PlanArgs) -> anyhow::Result<ExitCode> {
    if let Some(file) = args.file.as_deref().filter(|file| file.exists() && !args.force) {
        bail!("{} is there already; --force writes over it", file.display());
    }
    let log =
        SqliteLog::open_to_read(&data_folder(args.place.data.clone(), args.place.rehearsals)?)?;
    let chosen = chosen(&log, args)?;
    let list = list(args.list.as_deref(), &chosen)?;
    let course = content::course(&list)?;
    let proposal = proposal(&log, &chosen, &course, args.rounds, args.seed)?;
    let Proposal { seed, rows } = &proposal;
    let (count, reviews) = (rows.len(), chosen.len());
    let plural = |number: usize| if number == 1 { "" } else { "s" };
    say(&format!(
        "{count} round{} of {}, from {reviews} review{} (seed {seed})\n",
        plural(count),
        course.list().name,
        plural(reviews)
    ));
    say(&planned::page(rows.iter().map(|row| (asks(row), row.why.as_str())), width()));
    match &args.file {
        Some(file) => {
            let name = file.display();
            save(file, &proposal.text(&list), args.force)
                .with_context(|| format!("{name} cannot be written"))?;
            say(&format!("\n{name} holds it; change what you like, and hold it with\n"));
            say(&format!("    myonym host --plan {name}"));
        }
        None => say("\n--file FILE.toml writes it down, to be changed and held."),
    }
    Ok(ExitCode::SUCCESS)
}

/// A review that was proposed.
pub(crate) struct Proposal {
    seed: u64,
    rows: Vec<Row>,
}

impl Proposal {
    /// The plan as text that `myonym host --plan` reads; `list` is what it says of its list.
    pub(crate) fn text(&self, list: &str) -> String {
        write(list, self.seed, &self.rows)
    }
}

/// Proposes a review of a list by what these reviews hold. Without a number, each muscle once, at
/// most 20; without a seed, a new one.
pub(crate) fn proposal(
    log: &SqliteLog,
    chosen: &[Held],
    course: &Course,
    rounds: Option<u16>,
    seed: Option<u32>,
) -> anyhow::Result<Proposal> {
    let rounds = rounds.map_or_else(|| course.items().len().min(ROUNDS), usize::from);
    let seed = seed.map_or_else(|| secrets::seed() >> 40, u64::from);
    let table = reading::read(log, chosen, None)?.table;
    let proposed = propose(Catalogue::bundled(), course, &table, rounds, seed);
    if proposed.is_empty() {
        bail!("nothing can be proposed for the list {}", course.list().name);
    }
    Ok(Proposal { seed, rows: proposed.iter().map(|round| row(course, round)).collect() })
}

/// The reviews to go by, oldest first.
fn chosen(log: &SqliteLog, args: &PlanArgs) -> anyhow::Result<Vec<Held>> {
    let wanted = Wanted {
        names: &args.reviews,
        sections: &args.section,
        from: args.from,
        to: args.to,
        list: None,
        study_groups: args.study_groups,
    };
    let all = reading::held(log)?;
    let (chosen, left_out) = (wanted.choose(&all)?, wanted.left_out(&all)?);
    if chosen.is_empty() {
        bail!("{}", wanted.none_chosen(left_out));
    }
    if left_out > 0 {
        complain(&format!("myonym: {} left out; see --study-groups", groups(left_out)));
    }
    Ok(chosen)
}

/// The list to plan for: the one asked for, or that of the latest review.
pub(crate) fn list(asked: Option<&str>, chosen: &[Held]) -> anyhow::Result<String> {
    if let Some(list) = asked {
        return Ok(list.to_owned());
    }
    let latest = &chosen.last().context("there is no review")?.settings;
    if Catalogue::bundled().list(&latest.list).is_none() {
        bail!("the latest review had a list of its own, {}; name it with --list", latest.list_name);
    }
    Ok(latest.list.to_string())
}

fn row(course: &Course, round: &Proposed) -> Row {
    let name = |muscle: &MuscleKey| course.name_of(muscle).unwrap_or_else(|| muscle.to_string());
    let task = if round.beside.is_some() { Task::Contrast } else { Task::Name };
    let (muscle, beside) = (name(&round.muscle), round.beside.as_ref().map(name));
    Row { muscle, task, beside, why: round.why.clone() }
}

fn asks(row: &Row) -> String {
    match &row.beside {
        Some(beside) => format!("{} beside {beside}", row.muscle),
        None => row.muscle.clone(),
    }
}

fn save(file: &Path, text: &str, force: bool) -> io::Result<()> {
    let mut options = OpenOptions::new();
    options.write(true);
    // Looked at once more: another may have written meanwhile.
    let options =
        if force { options.create(true).truncate(true) } else { options.create_new(true) };
    options.open(file)?.write_all(text.as_bytes())
}
