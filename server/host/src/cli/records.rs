//! Options of the commands that look at records, go by them, or remove them.

use std::path::PathBuf;

use clap::Args;
use jiff::civil::Date;

use crate::keeping::DAY_S;

/// Where records are.
#[derive(Debug, Args)]
pub(crate) struct PlaceArgs {
    /// Folder of the data file, in place of the platform's data folder.
    #[arg(long, value_name = "FOLDER")]
    pub(crate) data: Option<PathBuf>,
    /// Look at rehearsals, which are kept apart.
    #[arg(long)]
    pub(crate) rehearsals: bool,
}

/// Options of `report`.
#[derive(Debug, Args)]
pub(crate) struct ReportArgs {
    /// Reviews by their number in the list, their join word, or `all`; alone, lists them.
    #[arg(value_name = "REVIEW")]
    pub(crate) reviews: Vec<String>,
    #[command(flatten)]
    /// Which of them.
    pub(crate) filter: FilterArgs,
    /// Only students who gave this group on joining, such as a bench of the lab.
    #[arg(long, value_name = "NAME")]
    pub(crate) group: Option<String>,
    #[command(flatten)]
    /// Where the records are.
    pub(crate) place: PlaceArgs,
    #[command(flatten)]
    /// What is printed.
    pub(crate) print: PrintArgs,
    /// Write a page for a browser and a printer.
    #[arg(long, value_name = "FILE.html")]
    pub(crate) html: Option<PathBuf>,
    /// Write every answer as an xAPI statement, under pseudonyms.
    #[arg(long, value_name = "FILE.json")]
    pub(crate) xapi: Option<PathBuf>,
    /// Write every answer as a row of a Parquet table, under pseudonyms.
    #[arg(long, value_name = "FILE.parquet")]
    pub(crate) parquet: Option<PathBuf>,
    /// Print one student's own page and nothing else, to hand it over; several only to bring
    /// pseudonyms of one student together.
    #[arg(long, value_name = "NAME", conflicts_with_all = ["json", "csv", "students", "html", "xapi", "parquet"])]
    pub(crate) student: Vec<String>,
}

/// Which reviews, by what is known of them.
#[derive(Debug, Args)]
pub(crate) struct FilterArgs {
    /// Only reviews of this section; may be given more than once.
    #[arg(long, value_name = "NAME")]
    pub(crate) section: Vec<String>,
    /// Only reviews of this day or later, such as 2026-09-01.
    #[arg(long, value_name = "DATE", value_parser = parse_date)]
    pub(crate) from: Option<Date>,
    /// Only reviews of this day or before it.
    #[arg(long, value_name = "DATE", value_parser = parse_date)]
    pub(crate) to: Option<Date>,
    /// Only reviews of this muscle list.
    #[arg(long, value_name = "LIST")]
    pub(crate) list: Option<String>,
    /// Count study groups too, where names may be looked up; else only those that are named.
    #[arg(long)]
    pub(crate) study_groups: bool,
}

/// What a report prints.
#[derive(Debug, Args)]
pub(crate) struct PrintArgs {
    /// Print JSON.
    #[arg(long, conflicts_with = "csv")]
    pub(crate) json: bool,
    /// Print comma-separated values.
    #[arg(long)]
    pub(crate) csv: bool,
    /// Add each student's own numbers, by name.
    #[arg(long)]
    pub(crate) students: bool,
}

/// Options of `plan`.
#[derive(Debug, Args)]
pub(crate) struct PlanArgs {
    /// Reviews to go by: their number in the list, their join word, or `all` (which is meant, if
    /// none is named).
    #[arg(value_name = "REVIEW")]
    pub(crate) reviews: Vec<String>,
    /// Only reviews of this section; may be given more than once.
    #[arg(long, value_name = "NAME")]
    pub(crate) section: Vec<String>,
    /// Only reviews of this day or later, such as 2026-09-01.
    #[arg(long, value_name = "DATE", value_parser = parse_date)]
    pub(crate) from: Option<Date>,
    /// Only reviews of this day or before it.
    #[arg(long, value_name = "DATE", value_parser = parse_date)]
    pub(crate) to: Option<Date>,
    /// Go by study groups too, where names may be looked up; else only by those that are named.
    #[arg(long)]
    pub(crate) study_groups: bool,
    /// Muscle list of the planned review: the key of a bundled one, or a text file of your own [default:
    /// that of the latest review].
    #[arg(long, value_name = "LIST")]
    pub(crate) list: Option<String>,
    /// Number of rounds [default: each muscle of the list once, at most 20].
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=500))]
    pub(crate) rounds: Option<u16>,
    /// What chance draws from: the same number gives the same plan [default: a new one].
    #[arg(long, value_name = "N")]
    pub(crate) seed: Option<u32>,
    /// Write the plan to this file.
    #[arg(long, value_name = "FILE.toml")]
    pub(crate) file: Option<PathBuf>,
    /// Write over a file that is there.
    #[arg(long, requires = "file")]
    pub(crate) force: bool,
    #[command(flatten)]
    /// Where the records are.
    pub(crate) place: PlaceArgs,
}

/// Options of `forget`.
#[derive(Debug, Args)]
pub(crate) struct ForgetArgs {
    /// Take this student out, by name or pseudonym; several only to bring pseudonyms of one student
    /// together.
    #[arg(long, value_name = "NAME")]
    pub(crate) student: Vec<String>,
    /// Only in this review, by its number in the list or its join word; may be given more than once.
    #[arg(long, value_name = "REVIEW")]
    pub(crate) review: Vec<String>,
    /// Only in reviews before this day, such as 2026-09-01.
    #[arg(long, value_name = "DATE", value_parser = parse_date)]
    pub(crate) before: Option<Date>,
    /// Only in reviews of this section; may be given more than once.
    #[arg(long, value_name = "NAME")]
    pub(crate) section: Vec<String>,
    /// All reviews.
    #[arg(long, conflicts_with_all = ["review", "before", "section"])]
    pub(crate) all: bool,
    /// Delete the files that were made of what is forgotten, where they still are.
    #[arg(long)]
    pub(crate) exports: bool,
    /// Do not ask.
    #[arg(long)]
    pub(crate) yes: bool,
    #[command(flatten)]
    /// Where the records are.
    pub(crate) place: PlaceArgs,
}

/// Options of `backup`.
#[derive(Debug, Args)]
pub(crate) struct BackupArgs {
    /// The file to write; it must not be there yet.
    #[arg(value_name = "FILE")]
    pub(crate) file: PathBuf,
    #[command(flatten)]
    /// Where the records are.
    pub(crate) place: PlaceArgs,
}

/// Options of `restore`.
#[derive(Debug, Args)]
pub(crate) struct RestoreArgs {
    /// The backup.
    #[arg(value_name = "FILE")]
    pub(crate) file: PathBuf,
    /// Put it in place of the records that are there, which are kept aside under a dated name.
    #[arg(long)]
    pub(crate) replace: bool,
    #[command(flatten)]
    /// Where the records are to be.
    pub(crate) place: PlaceArgs,
}

/// For how long reviews are kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Keep {
    /// Until someone removes them.
    Forever,
    /// So many days after their end.
    Days(u16),
}

impl Keep {
    /// In seconds; `None` for ever.
    pub(crate) fn seconds(self) -> Option<i64> {
        match self {
            Self::Forever => None,
            Self::Days(days) => Some(i64::from(days) * DAY_S),
        }
    }
}

pub(super) fn parse_keep(text: &str) -> Result<Keep, String> {
    if text == "forever" {
        return Ok(Keep::Forever);
    }
    let days = text.strip_suffix('d').and_then(|days| days.parse().ok());
    days.filter(|days| *days > 0)
        .map(Keep::Days)
        .ok_or_else(|| format!("{text} is neither a number of days, such as 400d, nor forever"))
}

fn parse_date(text: &str) -> Result<Date, String> {
    text.parse().map_err(|_fault| format!("{text} is not a date; write it as 2026-09-01"))
}
