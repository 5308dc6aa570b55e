//! Scenarios: what a server goes through in a department's life, each beside the baselines, with
//! what it should keep to.

pub(crate) mod compare;
mod growth;
mod idle;
mod joining;
mod lesson;
mod plot;
mod sheet;

use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::{Context, bail};
use clap::ValueEnum;
use indicatif::{ProgressBar, ProgressStyle};
use serde::Serialize;
use tempfile::TempDir;

use crate::args::ServerChoice;
use crate::class::Target;
use crate::machine;
use crate::report::Machine;
use crate::runs::Subject;
use crate::script::Script;
use crate::server::{self, Baseline, Running, Source};
use crate::tls;
use growth::FanOut;
use lesson::Lesson;
pub(crate) use sheet::LATE;
use sheet::{Row, Sheet};

/// Number of the JSON's form; it grows when a key changes its meaning or goes away.
pub(crate) const FORM: u32 = 1;

/// What can be gone through.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, ValueEnum, Serialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Scenario {
    /// A lecture hall: one room of 1,000.
    Hall,
    /// A school: 300 rooms of 30, in step.
    School,
    /// A burst: 1,000 in one room answer within 200 ms.
    Burst,
    /// An idle crowd: 10,000 seated and silent, in the clear and by TLS.
    Idle,
    /// A whole class is gone at once, and comes back at once.
    Return,
    /// Students join as fast as the server takes them.
    Join,
    /// The cost of a clue and of joining, as a room grows from 30 to 10,000.
    Growth,
}

/// What is asked for.
#[derive(Debug, Clone)]
pub(crate) struct Asked {
    /// Which scenarios.
    pub(crate) only: Vec<Scenario>,
    /// Repetitions of each.
    pub(crate) runs: u16,
    /// Far fewer students and shorter waits, to see that all of it works.
    pub(crate) short: bool,
    /// What is measured.
    pub(crate) server: ServerChoice,
    /// Where the JSON goes.
    pub(crate) json: Option<PathBuf>,
    /// Where the plots go.
    pub(crate) plots: Option<PathBuf>,
}

/// Something that is done to each subject, each time in a fresh process.
#[derive(Debug, Clone)]
enum Part {
    Lesson(Lesson),
    Idle { students: usize, tls: bool },
    Return { students: usize },
    Join { students: usize },
    FanOut(FanOut),
}

/// What a part gave of one subject.
#[derive(Debug)]
struct Measured {
    /// Figures by key.
    values: Vec<(String, f64)>,
    /// The server's own messages.
    script: Script,
    /// What went wrong, a sentence each.
    faults: Vec<String>,
}

impl Part {
    fn uses_tls(&self) -> bool {
        matches!(self, Self::Idle { tls: true, .. })
    }

    /// The baseline that its target is held against.
    fn base(&self) -> Baseline {
        match self {
            Self::Join { .. } => Baseline::FRAMES,
            Self::Lesson(_) | Self::Idle { .. } | Self::Return { .. } | Self::FanOut(_) => {
                Baseline::FLOOR
            }
        }
    }

    fn students(&self) -> usize {
        match self {
            Self::Lesson(lesson) => lesson.rooms * lesson.students,
            Self::FanOut(fan_out) => fan_out.rooms() * fan_out.students,
            Self::Idle { students, .. } | Self::Return { students } | Self::Join { students } => {
                *students
            }
        }
    }

    fn measure(&self, target: &Target) -> anyhow::Result<Measured> {
        match self {
            Self::Lesson(lesson) => lesson.measure(target),
            Self::Idle { students, tls } => idle::measure(target, *students, *tls),
            Self::Return { students } => joining::come_back(target, *students),
            Self::Join { students } => joining::join(target, *students),
            Self::FanOut(fan_out) => fan_out.measure(target),
        }
    }
}

impl Scenario {
    fn parts(self, short: bool) -> Vec<Part> {
        let size = |full: usize, small: usize| if short { small } else { full };
        let lesson = |rooms, students, rounds, window_ms| {
            let (rounds, window_ms) = if short { (1, 200) } else { (rounds, window_ms) };
            vec![Part::Lesson(Lesson { rooms, students, rounds, window_ms })]
        };
        match self {
            Self::Hall => lesson(1, size(1_000, 100), 5, 2_000),
            Self::School => lesson(size(300, 10), size(30, 10), 3, 6_000),
            Self::Burst => lesson(1, size(1_000, 100), 5, 200),
            Self::Idle => {
                [false, true].map(|tls| Part::Idle { students: size(10_000, 200), tls }).to_vec()
            }
            Self::Return => {
                [size(300, 30), size(1_000, 100)].map(|students| Part::Return { students }).to_vec()
            }
            Self::Join => vec![Part::Join { students: size(5_000, 200) }],
            Self::Growth => growth::parts(short).into_iter().map(Part::FanOut).collect(),
        }
    }

    fn rows(self, short: bool) -> Vec<Row> {
        match self {
            Self::Hall | Self::School | Self::Burst => lesson::rows(self),
            Self::Idle => idle::rows(),
            Self::Return => {
                self.parts(short).iter().flat_map(|p| joining::rows(p.students())).collect()
            }
            Self::Join => joining::join_rows(),
            Self::Growth => growth::rows(short),
        }
    }

    fn name(self) -> String {
        self.to_possible_value().map_or_else(String::new, |value| value.get_name().to_owned())
    }

    /// What it is, in a line.
    fn title(self, short: bool) -> String {
        let help = self.to_possible_value().and_then(|value| value.get_help().cloned());
        let help = help.map(|help| help.to_string()).unwrap_or_default();
        if short { format!("{help} (short: fewer students)") } else { help }
    }
}

/// Goes through all that is asked for, and prints a table of each.
pub(crate) async fn run(asked: &Asked) -> anyhow::Result<ExitCode> {
    let most = asked.only.iter().flat_map(|scenario| scenario.parts(asked.short));
    machine::check_open_files(most.map(|part| part.students()).max().unwrap_or(0))?;
    let server = Source::prepare(&asked.server).await?;
    let mut sheets = Vec::new();
    for scenario in &asked.only {
        let sheet = tokio::select! {
            sheet = go_through(*scenario, asked, &server) => sheet?,
            _ = tokio::signal::ctrl_c() => bail!("stopped by the keyboard"),
        };
        println!("{}\n", sheet.text());
        if let (Scenario::Growth, Some(folder)) = (scenario, &asked.plots) {
            std::fs::create_dir_all(folder)?;
            let path = folder.join("growth.svg");
            std::fs::write(&path, plot::draw(&growth::curves(&sheet, asked.short)))
                .with_context(|| format!("cannot write {}", path.display()))?;
        }
        sheets.push(sheet);
    }
    println!("{}", notes());
    if let Some(path) = &asked.json {
        let json = Json { form: FORM, machine: Machine::here(), scenarios: &sheets };
        std::fs::write(path, serde_json::to_string_pretty(&json)?)
            .with_context(|| format!("cannot write {}", path.display()))?;
    }
    let sound = sheets.iter().all(|sheet| sheet.faults.is_empty());
    Ok(if sound { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

#[derive(Debug, Serialize)]
struct Json<'a> {
    form: u32,
    machine: Machine,
    scenarios: &'a [Sheet],
}

fn notes() -> &'static str {
    "Times are those of this machine, with the clients on it: compare the ratios. Figures are \
     medians of the runs; ratios are medians of the runs' own ratios, with the least and the \
     greatest. A target is held against the median."
}

async fn go_through(scenario: Scenario, asked: &Asked, server: &Source) -> anyhow::Result<Sheet> {
    let parts = scenario.parts(asked.short);
    let title = scenario.title(asked.short);
    let mut sheet = Sheet::new(scenario.name(), title, scenario.rows(asked.short));
    let steps = usize::from(asked.runs) * parts.len() * Subject::ALL.len();
    let style = ProgressStyle::with_template("{elapsed_precise} {wide_bar} {pos}/{len} {msg}")?;
    let bar = ProgressBar::new(steps as u64).with_style(style);
    for run in 0..asked.runs {
        sheet.begin_run();
        for part in &parts {
            let mut ground = Ground::new()?;
            for subject in Subject::ALL {
                bar.set_message(format!("{}, run {}, {}", sheet.name(), run + 1, subject.name()));
                let what = || format!("{}, run {}, {}", scenario.name(), run + 1, subject.name());
                if let Some(measured) =
                    ground.put(part, subject, server).await.with_context(what)?
                {
                    sheet.add(subject, measured);
                }
                bar.inc(1);
            }
        }
        if scenario == Scenario::Growth {
            growth::derive(&mut sheet, asked.short);
        }
    }
    bar.finish_and_clear();
    Ok(sheet)
}

/// What the subjects of a part share: the server's messages and its certificate.
#[derive(Debug)]
struct Ground {
    script: Option<Script>,
    folder: TempDir,
}

impl Ground {
    fn new() -> anyhow::Result<Self> {
        let folder = tempfile::tempdir().context("cannot make a temporary folder")?;
        Ok(Self { script: None, folder })
    }

    /// Measures one subject; `None` if it has no such thing.
    async fn put(
        &mut self,
        part: &Part,
        subject: Subject,
        server: &Source,
    ) -> anyhow::Result<Option<Measured>> {
        let baseline = match subject {
            Subject::Server => None,
            Subject::Floor | Subject::Keeper if part.uses_tls() => return Ok(None),
            Subject::Floor => Some(Baseline::FLOOR),
            Subject::Frames => Some(Baseline::FRAMES),
            Subject::Keeper => Some(part.base().that_keeps()),
        };
        let running = match baseline {
            None => self.start_server(part, server).await?,
            Some(which) => {
                let folder = part.uses_tls().then(|| self.folder.path());
                let script = self.script.clone().context("the server comes first")?;
                server::start_baseline(which, &script, folder).await?
            }
        };
        let (target, own) = (running.target.clone(), part.clone());
        let measured = tokio::task::spawn_blocking(move || own.measure(&target)).await??;
        running.end().await?;
        self.script.get_or_insert_with(|| measured.script.clone());
        Ok(Some(measured))
    }

    async fn start_server(&self, part: &Part, server: &Source) -> anyhow::Result<Running> {
        if !part.uses_tls() {
            return server.start(&[]).await;
        }
        let mut running = server.start(&["--tls"]).await?;
        for file in [tls::CERTIFICATE, tls::KEY] {
            let own = running.data().join("tls").join(file);
            std::fs::copy(&own, self.folder.path().join(file))
                .with_context(|| format!("the server has no {}", own.display()))?;
        }
        running.target.trust = Some(tls::trust(self.folder.path())?);
        Ok(running)
    }
}
