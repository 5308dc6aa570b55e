//! The command line, parsed into what can be run.

use std::net::{IpAddr, SocketAddr};
use std::path::PathBuf;
use std::time::Duration;

use anyhow::{Context, bail, ensure};
use clap::{Parser, Subcommand, ValueEnum, value_parser};
use myonym_wire::HostKey;

use crate::plan::Arrivals;
use crate::scenarios::{Asked, Scenario};
use crate::start::{Start, StartArgs};
use crate::term::Term;

/// Most students in all rooms together: what the free ports of one loopback address allow.
pub(crate) const MOST_STUDENTS: usize = 20_000;

/// Time limit of a round in every room under load.
pub(crate) const ROUND_LIMIT: Duration = Duration::from_secs(20);

/// Puts open-loop load on a server of live reviews and on bare servers, and prints the ratios.
#[derive(Debug, Parser)]
#[command(name = "myonym-loadtest", version, args_conflicts_with_subcommands = true)]
pub(crate) struct Command {
    #[command(subcommand)]
    other: Option<Other>,
    #[command(flatten)]
    load: LoadArgs,
}

#[derive(Debug, Subcommand)]
enum Other {
    /// Goes through what a server meets in a department's life, each beside bare servers.
    Scenarios(ScenarioArgs),
    /// Sets the figures of two builds side by side.
    Compare {
        /// JSON that `scenarios` wrote, of the build before.
        before: PathBuf,
        /// The same of the build after.
        after: PathBuf,
    },
    /// Makes up a department's term and measures a report on all of it.
    Term(TermArgs),
    /// Measures how soon a host is ready, with an empty data folder and with a full one.
    Start(StartArgs),
    /// Serves as a baseline until its input ends.
    #[command(hide = true)]
    Baseline {
        /// Which one.
        kind: BaselineKind,
        /// What to tell the students, as the server told it.
        #[arg(long)]
        script: Option<PathBuf>,
        /// The folder of a certificate, to speak TLS.
        #[arg(long)]
        certificate: Option<PathBuf>,
        /// A file to keep what happens in, before anyone is told of it.
        #[arg(long)]
        ledger: Option<PathBuf>,
    },
}

/// The bare servers that the server is compared with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum BaselineKind {
    /// One thread that writes ready-made frames straight to each socket.
    Floor,
    /// A bare tokio-tungstenite server, tuned.
    Frames,
}

#[derive(Debug, clap::Args)]
struct ScenarioArgs {
    /// Only these, with commas between; all, if left out.
    #[arg(long, value_enum, value_name = "SCENARIOS", value_delimiter = ',')]
    only: Vec<Scenario>,
    /// Repetitions of each, with fresh processes; the table shows medians.
    #[arg(long, default_value_t = 3, value_parser = value_parser!(u16).range(1..=50))]
    runs: u16,
    /// Fewer students, to see that all of it works: the figures mean little.
    #[arg(long)]
    short: bool,
    /// The server program to measure, in place of the one that cargo builds here.
    #[arg(long, value_name = "PATH")]
    server: Option<PathBuf>,
    /// Write every figure of every run to this file, for `compare`.
    #[arg(long, value_name = "FILE")]
    json: Option<PathBuf>,
    /// Draw plots into this folder.
    #[arg(long, value_name = "FOLDER")]
    plots: Option<PathBuf>,
}

impl ScenarioArgs {
    fn into_asked(self) -> Asked {
        let Self { mut only, runs, short, server, json, plots } = self;
        if only.is_empty() {
            only = Scenario::value_variants().to_vec();
        }
        only.sort_unstable();
        only.dedup();
        let server = server.map_or(ServerChoice::Built, ServerChoice::Program);
        Asked { only, runs, short, server, json, plots }
    }
}

#[derive(Debug, clap::Args)]
struct TermArgs {
    /// Reviews.
    #[arg(long, default_value_t = 250, value_parser = value_parser!(u16).range(1..=2_000))]
    reviews: u16,
    /// Students in each.
    #[arg(long, default_value_t = 200, value_parser = value_parser!(u16).range(1..=2_000))]
    students: u16,
    /// Rounds of each.
    #[arg(long, default_value_t = 20, value_parser = value_parser!(u16).range(1..=100))]
    rounds: u16,
    /// What everything is drawn from.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Reports measured.
    #[arg(long, default_value_t = 3, value_parser = value_parser!(u16).range(1..=50))]
    runs: u16,
    /// Leave the data file and the report here, or take a term that is there already.
    #[arg(long, value_name = "FOLDER")]
    folder: Option<PathBuf>,
    /// The program to measure, in place of the one that cargo builds here.
    #[arg(long, value_name = "PATH")]
    server: Option<PathBuf>,
}

impl TermArgs {
    fn into_term(self) -> Term {
        let Self { reviews, students, rounds, seed, runs, folder, server } = self;
        let program = server.map_or(ServerChoice::Built, ServerChoice::Program);
        Term { reviews, students, rounds, seed, runs, folder, program }
    }
}

#[derive(Debug, clap::Args)]
struct LoadArgs {
    /// Rooms, each with its own review; all run in step.
    #[arg(long, default_value_t = 1, value_parser = value_parser!(u16).range(1..=1000))]
    rooms: u16,
    /// Students in each room.
    #[arg(long, default_value_t = 300, value_parser = value_parser!(u16).range(1..=20_000))]
    students: u16,
    /// Rounds measured; one more is played first and discarded.
    #[arg(long, default_value_t = 5, value_parser = value_parser!(u16).range(1..=400))]
    rounds: u16,
    /// Repetitions, each with fresh processes; the table shows medians.
    #[arg(long, default_value_t = 3, value_parser = value_parser!(u16).range(1..=50))]
    runs: u16,
    /// Time in which a round's answers fall due, such as 800ms or 3s.
    #[arg(long, default_value = "1s", value_parser = parse_span)]
    window: Duration,
    /// How the answers lie in that time.
    #[arg(long, value_enum, default_value_t = Arrivals::Spread)]
    arrivals: Arrivals,
    /// Seed of the planned instants.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Most time for the whole measurement.
    #[arg(long, default_value = "120s", value_parser = parse_span)]
    most: Duration,
    /// The server program to measure, in place of the one that cargo builds here.
    #[arg(long, value_name = "PATH", conflicts_with = "address")]
    server: Option<PathBuf>,
    /// A server that runs already on this machine, such as 127.0.0.1:7645.
    #[arg(long, value_name = "HOST:PORT", requires = "key")]
    address: Option<String>,
    /// Key of that server.
    #[arg(long, requires = "address")]
    key: Option<HostKey>,
    /// Write every figure of every run to this file.
    #[arg(long, value_name = "FILE")]
    json: Option<PathBuf>,
}

/// What this process is to do.
#[derive(Debug)]
pub(crate) enum Task {
    /// Be a baseline.
    Baseline {
        kind: BaselineKind,
        script: Option<PathBuf>,
        certificate: Option<PathBuf>,
        ledger: Option<PathBuf>,
    },
    /// Measure reports.
    Term(Term),
    /// Measure starts.
    Start(Start),
    /// Go through scenarios.
    Scenarios(Asked),
    /// Set two results side by side.
    Compare { before: PathBuf, after: PathBuf },
    /// Measure.
    Load(Box<Load>),
}

/// A load that can be run.
#[derive(Debug, Clone)]
pub(crate) struct Load {
    /// Rooms.
    pub(crate) rooms: usize,
    /// Students in each room.
    pub(crate) students: usize,
    /// Rounds measured, after one that is not.
    pub(crate) rounds: u16,
    /// Repetitions.
    pub(crate) runs: u16,
    /// Time in which a round's answers fall due.
    pub(crate) window: Duration,
    /// How they lie in it.
    pub(crate) arrivals: Arrivals,
    /// Seed of the planned instants.
    pub(crate) seed: u64,
    /// Most time for everything.
    pub(crate) most: Duration,
    /// What is measured.
    pub(crate) server: ServerChoice,
    /// Where the JSON goes.
    pub(crate) json: Option<PathBuf>,
}

impl Load {
    /// Students in all rooms together.
    pub(crate) fn students_in_all(&self) -> usize {
        self.rooms * self.students
    }
}

/// Which server is measured.
#[derive(Debug, Clone)]
pub(crate) enum ServerChoice {
    /// The program `myonym`, built by cargo beside this one.
    Built,
    /// The program at a path.
    Program(PathBuf),
    /// A process that runs already: its CPU and memory are not measured.
    Running { address: SocketAddr, key: HostKey },
}

impl Command {
    /// What to do, or what is wrong with what was asked.
    pub(crate) fn into_task(self) -> anyhow::Result<Task> {
        Ok(match self.other {
            Some(Other::Baseline { kind, script, certificate, ledger }) => {
                Task::Baseline { kind, script, certificate, ledger }
            }
            Some(Other::Scenarios(args)) => Task::Scenarios(args.into_asked()),
            Some(Other::Compare { before, after }) => Task::Compare { before, after },
            Some(Other::Term(args)) => Task::Term(args.into_term()),
            Some(Other::Start(args)) => Task::Start(args.into_start()),
            None => Task::Load(Box::new(self.load.into_load()?)),
        })
    }
}

impl LoadArgs {
    fn into_load(self) -> anyhow::Result<Load> {
        let (rooms, students) = (usize::from(self.rooms), usize::from(self.students));
        ensure!(
            rooms * students <= MOST_STUDENTS,
            "{rooms} rooms of {students} are more than {MOST_STUDENTS} students: ask for fewer"
        );
        ensure!(
            !self.window.is_zero() && self.window <= ROUND_LIMIT * 3 / 4,
            "--window must lie above 0 and below 15s, because a round lasts 20s"
        );
        let server = match (self.address, self.key, self.server) {
            (Some(address), Some(key), _) => {
                ServerChoice::Running { address: parse_loopback(&address)?, key }
            }
            (_, _, Some(path)) => ServerChoice::Program(path),
            _ => ServerChoice::Built,
        };
        Ok(Load {
            rooms,
            students,
            rounds: self.rounds,
            runs: self.runs,
            window: self.window,
            arrivals: self.arrivals,
            seed: self.seed,
            most: self.most,
            server,
            json: self.json,
        })
    }
}

/// `HOST:PORT` on this machine; anything else is refused, so that no server of others is loaded.
fn parse_loopback(text: &str) -> anyhow::Result<SocketAddr> {
    let text = text
        .strip_prefix("localhost:")
        .map_or_else(|| text.to_owned(), |p| format!("127.0.0.1:{p}"));
    let address: SocketAddr = text
        .parse()
        .with_context(|| format!("`{text}` is not an address such as 127.0.0.1:7645"))?;
    let here = match address.ip() {
        IpAddr::V4(ip) => ip.is_loopback(),
        IpAddr::V6(ip) => ip.is_loopback(),
    };
    if !here {
        bail!("{address} is not on this machine: only loopback addresses may be put under load");
    }
    Ok(address)
}

/// A length of time such as `800ms`, `3s` or `2m`.
fn parse_span(text: &str) -> Result<Duration, String> {
    let split = text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
    let (number, unit) = text.split_at(split);
    let per_unit = match unit {
        "ms" => 1,
        "s" => 1_000,
        "m" => 60_000,
        _ => return Err(format!("`{text}` is not a time such as 800ms, 3s or 2m")),
    };
    number
        .parse::<u64>()
        .ok()
        .and_then(|n| n.checked_mul(per_unit))
        .filter(|ms| *ms <= 24 * 3_600_000)
        .map(Duration::from_millis)
        .ok_or_else(|| format!("`{text}` is not a time of at most a day"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn load(words: &[&str]) -> anyhow::Result<Load> {
        let words = std::iter::once("myonym-loadtest").chain(words.iter().copied());
        match Command::try_parse_from(words)?.into_task()? {
            Task::Load(load) => Ok(*load),
            Task::Baseline { .. }
            | Task::Term(_)
            | Task::Start(_)
            | Task::Scenarios(_)
            | Task::Compare { .. } => bail!("no load"),
        }
    }

    #[test]
    fn no_words_give_one_room_of_300() {
        let load = load(&[]).unwrap();
        assert_eq!((load.rooms, load.students, load.rounds, load.runs), (1, 300, 5, 3));
        assert!(matches!(load.server, ServerChoice::Built));
    }

    #[test]
    fn what_cannot_be_run_is_refused() {
        let check = |words: &str, why: &str| {
            let words: Vec<&str> = words.split(' ').collect();
            let error = format!("{:#}", load(&words).unwrap_err());
            assert!(error.contains(why), "{words:?}: {error}");
        };
        let key = "0".repeat(32);
        check("--rooms 100 --students 300", "more than 20000");
        check("--students 0", "not in 1..=20000");
        check("--window 30s", "--window");
        check("--window 0s", "--window");
        check("--window soon", "not a time");
        check("--window 99999999999999999999s", "at most a day");
        check("--address 127.0.0.1:1", "--key");
        for (address, why) in [
            ("192.0.2.7:7645", "not on this machine"),
            ("0.0.0.0:7645", "not on this machine"),
            ("[2001:db8::7]:7645", "not on this machine"),
            ("lab.example:7645", "not an address"),
        ] {
            check(&format!("--address {address} --key {key}"), why);
        }
    }

    #[test]
    fn a_server_on_this_machine_is_taken() {
        let key = "0".repeat(32);
        for address in ["127.0.0.1:7645", "localhost:7645", "[::1]:7645"] {
            let words = ["--address", address, "--key", &key];
            assert!(matches!(load(&words).unwrap().server, ServerChoice::Running { .. }));
        }
    }

    #[test]
    fn times_are_read() {
        let check = |text: &str, ms: u64| {
            assert_eq!(parse_span(text), Ok(Duration::from_millis(ms)), "{text}");
        };
        check("800ms", 800);
        check("3s", 3_000);
        check("2m", 120_000);
    }
}
