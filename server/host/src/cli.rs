//! The command line.

mod doors;
mod records;

use std::net::IpAddr;
use std::path::PathBuf;
use std::time::Duration;

use clap::{Args, Parser, Subcommand, ValueEnum};
use myonym_play::{Fingerprint, parse_limit, parse_time};
use myonym_wire::{HostKey, JoinWord, Pace, ReviewSettings, ScoreRule, Spelling, Task};

use crate::names;
pub(crate) use doors::DoorArgs;
use records::parse_keep;
pub(crate) use records::{ForgetArgs, Keep, PlaceArgs, PlanArgs, ReportArgs};

/// Live reviews of the skeletal muscles: described by action and attachments, named by the class.
///
/// Anatomy here is for study, not for diagnosis or treatment; where it differs from your course's
/// own text, the text holds.
#[derive(Debug, Parser)]
#[command(name = "myonym", version)]
pub(crate) struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub(crate) command: Command,
}

impl Cli {
    /// Whether the program runs without a screen.
    pub(crate) fn is_service(&self) -> bool {
        matches!(&self.command, Command::Host(host) if host.headless)
    }
}

/// What to do.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Host a live review, or go on with the one that a stop broke off.
    Host(HostArgs),
    /// Join a review from this terminal: as a student, or with --key as its instructor.
    Join(JoinArgs),
    /// List past reviews, or show what the class found hard and confused.
    Report(ReportArgs),
    /// Propose the next review from what earlier ones showed, and write it down to be changed.
    Plan(PlanArgs),
    /// Remove a student, or reviews, from the data file.
    Forget(ForgetArgs),
    /// Check data files of muscles, vocabulary and lists.
    Check(CheckArgs),
    /// Look at the content.
    #[command(subcommand)]
    Content(ContentCommand),
}

/// How a review runs.
#[derive(Debug, Args)]
pub(crate) struct ReviewArgs {
    /// Muscle list: the key of a bundled one, or a text file of your own (`host` only).
    #[arg(long, value_name = "LIST", default_value = "shoulder")]
    pub(crate) list: String,
    /// Number of rounds; each muscle of the list once, if left out.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=500))]
    pub(crate) rounds: Option<u16>,
    /// Time limit of a round, such as 30s or 2m [default: 45s; in a rehearsal 4s].
    #[arg(long, value_name = "TIME", value_parser = parse_limit)]
    pub(crate) limit: Option<Duration>,
    /// What rounds ask for, in turn; several with commas between: name,picture,movement,contrast.
    #[arg(long, value_enum, value_name = "TASKS", value_delimiter = ',', default_value = "name")]
    pub(crate) tasks: Vec<TaskArg>,
    /// Choose each round by what the class has answered so far, here and in earlier reviews.
    #[arg(long)]
    pub(crate) adaptive: bool,
    /// How points are given.
    #[arg(long, value_enum, default_value_t = Rule::SpeedWeighted)]
    pub(crate) rule: Rule,
    /// How typed names are marked.
    #[arg(long, value_enum, default_value_t = SpellingArg::Tolerant)]
    pub(crate) spelling: SpellingArg,
    /// Who moves the review on [default: instructor; in a rehearsal automatic].
    #[arg(long, value_enum)]
    pub(crate) pace: Option<PaceArg>,
    /// With --pace automatic: how long a reveal stays [default: 12s; in a rehearsal 900ms].
    #[arg(long, value_name = "TIME", value_parser = parse_time)]
    pub(crate) reveal: Option<Duration>,
    /// Section of the course that it is held for, such as "Lab A": 1 to 40 characters.
    #[arg(long, value_name = "NAME", value_parser = parse_section)]
    pub(crate) section: Option<String>,
}

/// Options of `host`.
#[expect(clippy::struct_excessive_bools, reason = "each is an option of its own")]
#[derive(Debug, Args)]
pub(crate) struct HostArgs {
    #[command(flatten)]
    /// How the review runs.
    pub(crate) review: ReviewArgs,
    /// Hold the rounds of a plan, a TOML file such as `myonym plan` writes.
    #[arg(long, value_name = "FILE", conflicts_with_all = ["list", "rounds", "tasks", "adaptive"])]
    pub(crate) plan: Option<PathBuf>,
    /// Address to listen on.
    #[arg(long, value_name = "IP", default_value = "0.0.0.0")]
    pub(crate) address: IpAddr,
    /// Port to listen on; 0 takes any that is free [default: 7645].
    #[arg(long, value_name = "PORT")]
    pub(crate) port: Option<u16>,
    /// Folder of the data file, in place of the platform's data folder.
    #[arg(long, value_name = "FOLDER")]
    pub(crate) data: Option<PathBuf>,
    /// Run as a service: no console here, conduct with `myonym join --key`.
    #[arg(long)]
    pub(crate) headless: bool,
    /// Keep reviews this long after their end, such as 400d, and then remove them; this folder
    /// remembers it until told otherwise [default: forever].
    #[arg(long, value_name = "TIME", value_parser = parse_keep)]
    pub(crate) keep: Option<Keep>,
    /// Open another review even if one was broken off.
    #[arg(long)]
    pub(crate) new: bool,
    /// Make a new host's key and print it; the old one stops working.
    #[arg(long)]
    pub(crate) new_key: bool,
    /// Take no study groups: only reviews that you open.
    #[arg(long)]
    pub(crate) no_study_groups: bool,
    /// With --headless: open no review of your own; students open study groups.
    #[arg(long, requires = "headless", conflicts_with_all = ["plan", "rehearse", "new", "no_study_groups"])]
    pub(crate) study_groups_only: bool,
    /// Fill the room with this many simulated students.
    #[arg(long, value_name = "STUDENTS", value_parser = clap::value_parser!(u16).range(1..=300))]
    pub(crate) rehearse: Option<u16>,
    /// How it is reached.
    #[command(flatten, next_help_heading = "Over the internet")]
    pub(crate) doors: DoorArgs,
}

/// Options of `join`.
#[expect(clippy::struct_excessive_bools, reason = "each is an option of its own")]
#[derive(Debug, Args)]
pub(crate) struct JoinArgs {
    /// The link in quotes, or the server's address.
    #[arg(value_name = "LINK")]
    pub(crate) link: Option<String>,
    /// The server's certificate, or that of who signed it (PEM), for a link that begins with https.
    #[arg(long, value_name = "FILE", conflicts_with = "fingerprint")]
    pub(crate) certificate: Option<PathBuf>,
    /// The SHA-256 fingerprint of the server's certificate, as the server prints it.
    #[arg(long, value_name = "HEX")]
    pub(crate) fingerprint: Option<Fingerprint>,
    /// The join word, if the link does not hold it.
    #[arg(long, value_name = "WORD")]
    pub(crate) word: Option<JoinWord>,
    /// Your name in this review: 1 to 24 characters.
    #[arg(long, value_name = "NAME", value_parser = myonym_play::checked_name)]
    pub(crate) name: Option<String>,
    /// Let the class see your name in the standings.
    #[arg(long)]
    pub(crate) listed: bool,
    /// Your group, such as your bench of the lab: 1 to 24 characters.
    #[arg(long, value_name = "NAME", value_parser = myonym_play::checked_group)]
    pub(crate) group: Option<String>,
    /// Do not be known again in other reviews.
    #[arg(long)]
    pub(crate) no_person: bool,
    /// Take a new seat even if this terminal has one.
    #[arg(long)]
    pub(crate) new_seat: bool,
    /// Conduct the review with the host's key.
    #[arg(long, value_name = "KEY")]
    pub(crate) key: Option<HostKey>,
    /// With --key: open another review on that server.
    #[arg(long, requires = "key")]
    pub(crate) open: bool,
    /// Open a study group, without an instructor, and show how the others join.
    #[arg(long, conflicts_with_all = ["key", "open", "word", "group", "new_seat", "pace", "adaptive", "section"])]
    pub(crate) gather: bool,
    /// How that review runs.
    #[command(flatten, next_help_heading = "With --open or --gather")]
    pub(crate) review: ReviewArgs,
}

/// What to do with the content.
#[derive(Debug, Subcommand)]
pub(crate) enum ContentCommand {
    /// Show one muscle as a class will meet it: clues, facts, neighbours and contrasts.
    Show(ShowArgs),
    /// Show the moment arms of one muscle, as they follow from where it is attached.
    Arms(ArmsArgs),
    /// Draw one muscle, or two side by side, as an SVG file.
    Picture(PictureArgs),
    /// List the bundled muscle lists.
    Lists,
}

/// Options of `content show`.
#[derive(Debug, Args)]
pub(crate) struct ShowArgs {
    /// The muscle: its key, or a name in any accepted form.
    #[arg(value_name = "MUSCLE", required = true)]
    pub(crate) muscle: Vec<String>,
    /// The muscle list to see it in, or a text file of your own; the shortest bundled one that holds it, if left out.
    #[arg(long, value_name = "LIST")]
    pub(crate) list: Option<String>,
}

/// Options of `content arms`.
#[derive(Debug, Args)]
pub(crate) struct ArmsArgs {
    /// The muscle: its key, or a name in any accepted form.
    #[arg(value_name = "MUSCLE", required = true)]
    pub(crate) muscle: Vec<String>,
    /// Bend a joint: a freedom of the atlas and an angle in degrees, such as elbow-flexion=90; may be
    /// given more than once. Without it each joint stands as its actions are judged.
    #[arg(long, value_name = "FREEDOM=DEGREES")]
    pub(crate) bend: Vec<String>,
    /// Data files (TOML) of your own, read together with the bundled content.
    #[arg(long = "file", value_name = "FILE")]
    pub(crate) files: Vec<PathBuf>,
}

/// Options of `content picture`.
#[derive(Debug, Args)]
pub(crate) struct PictureArgs {
    /// The muscle: its key, or a name in any accepted form.
    #[arg(value_name = "MUSCLE", required = true)]
    pub(crate) muscle: Vec<String>,
    /// Another muscle to set beside it at the same scale.
    #[arg(long, value_name = "MUSCLE")]
    pub(crate) beside: Option<String>,
    /// Leave all names out, as for a practical.
    #[arg(long, conflicts_with = "beside")]
    pub(crate) unlabelled: bool,
    /// The file to write.
    #[arg(long, value_name = "FILE.svg")]
    pub(crate) file: PathBuf,
}

/// Options of `check`.
#[derive(Debug, Args)]
pub(crate) struct CheckArgs {
    /// Data files (TOML) to check together with the bundled content; without any, that alone.
    #[arg(value_name = "FILES")]
    pub(crate) files: Vec<PathBuf>,
}

/// What a round asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum TaskArg {
    /// The muscle's name, from clues in words.
    Name,
    /// The muscle's name, from a picture of where it runs.
    Picture,
    /// A movement that it makes, from where it is attached.
    Movement,
    /// Which of two near muscles the clues describe.
    Contrast,
}

/// How points are given.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Rule {
    /// A right name earns 100 points at once and 50 at the limit, a wrong one nothing.
    SpeedWeighted,
    /// A right name earns 100 points at once and 0 at the limit, a wrong one costs as many.
    SignedResidualTime,
}

/// How typed names are marked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum SpellingArg {
    /// A misspelling that can only mean one muscle counts.
    Tolerant,
    /// A misspelt name is wrong, as in a practical.
    Strict,
}

/// Who moves the review on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum PaceArg {
    /// The instructor, with a key for each step.
    Instructor,
    /// Rounds follow each other by themselves.
    Automatic,
    /// Its members, without an instructor: `join --gather` alone.
    #[value(skip)]
    Group,
}

/// Values where none is given.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Defaults {
    /// Rounds; 0 is the whole list.
    pub(crate) rounds: u16,
    /// Time limit in milliseconds.
    pub(crate) limit_ms: u32,
    /// Who moves the review on.
    pub(crate) pace: PaceArg,
    /// How long a reveal stays, in milliseconds.
    pub(crate) reveal_ms: u32,
}

impl ReviewArgs {
    /// The settings that these options ask for.
    pub(crate) fn settings(&self, defaults: Defaults) -> ReviewSettings {
        let reveal_ms = self.reveal.map_or(defaults.reveal_ms, millis);
        ReviewSettings {
            list: self.list.clone(),
            rounds: self.rounds.unwrap_or(defaults.rounds),
            limit_ms: self.limit.map_or(defaults.limit_ms, millis),
            tasks: self.tasks.iter().map(|task| (*task).into()).collect(),
            rule: match self.rule {
                Rule::SpeedWeighted => ScoreRule::SpeedWeighted,
                Rule::SignedResidualTime => ScoreRule::SignedResidualTime,
            },
            spelling: match self.spelling {
                SpellingArg::Tolerant => Spelling::Tolerant,
                SpellingArg::Strict => Spelling::Strict,
            },
            pace: match self.pace.unwrap_or(defaults.pace) {
                PaceArg::Instructor => Pace::Instructor,
                PaceArg::Automatic => Pace::Automatic { reveal_ms },
                PaceArg::Group => Pace::Group { reveal_ms },
            },
            adaptive: self.adaptive,
            section: self.section.clone(),
        }
    }
}

impl From<TaskArg> for Task {
    fn from(task: TaskArg) -> Self {
        match task {
            TaskArg::Name => Self::Name,
            TaskArg::Picture => Self::Picture,
            TaskArg::Movement => Self::Movement,
            TaskArg::Contrast => Self::Contrast,
        }
    }
}

/// Values of a review for a class.
pub(crate) const FOR_A_CLASS: Defaults =
    Defaults { rounds: 0, limit_ms: 45_000, pace: PaceArg::Instructor, reveal_ms: 12_000 };

/// Values of a study group.
pub(crate) const FOR_A_GROUP: Defaults =
    Defaults { rounds: 0, limit_ms: 45_000, pace: PaceArg::Group, reveal_ms: 20_000 };

/// Values of a rehearsal: short, so that a newcomer sees all of it within a minute.
pub(crate) const FOR_A_REHEARSAL: Defaults =
    Defaults { rounds: 12, limit_ms: 4_000, pace: PaceArg::Automatic, reveal_ms: 900 };

fn millis(time: Duration) -> u32 {
    u32::try_from(time.as_millis()).unwrap_or(u32::MAX)
}

fn parse_section(text: &str) -> Result<String, String> {
    names::clean_section(text).ok_or_else(|| "a section has 1 to 40 characters".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_command_line_is_sound() {
        use clap::CommandFactory as _;
        Cli::command().debug_assert();
    }
}
