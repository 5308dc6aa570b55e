//! All runs of all that is measured, one after the other.

use std::time::Duration;

use anyhow::{Context, bail, ensure};
use indicatif::{ProgressBar, ProgressStyle};
use serde::Serialize;
use tokio::time::timeout;

use crate::args::Load;
use crate::conduct::{self, Outcome, QUIET};
use crate::plan::lead;
use crate::script::Script;
use crate::server::{self, Baseline, Running, Source};

/// What is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Subject {
    /// The server under test.
    Server,
    /// The least that speaks RFC 6455.
    Floor,
    /// A bare tokio-tungstenite server.
    Frames,
    /// The floor, or the frames where these are what the server is held against, but nobody is told
    /// what is not on disk.
    Keeper,
}

impl Subject {
    /// All of them, in the order of a run: the server first, for the baselines repeat its bytes.
    pub(crate) const ALL: [Self; 4] = [Self::Server, Self::Floor, Self::Frames, Self::Keeper];
    /// Those that the server is held against.
    pub(crate) const BASES: [Self; 3] = [Self::Floor, Self::Frames, Self::Keeper];

    /// Its name in the table.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Server => "server",
            Self::Floor => "floor",
            Self::Frames => "frames",
            Self::Keeper => "keeper",
        }
    }
}

/// One repetition: the server, then each baseline, under the same load.
#[derive(Debug)]
pub(crate) struct Run {
    /// In the order of [`Subject::ALL`].
    pub(crate) outcomes: [Outcome; Subject::ALL.len()],
}

/// Refuses a load that cannot be done in the time given.
pub(crate) fn check_time(load: &Load) -> anyhow::Result<()> {
    let needed = expected(load);
    ensure!(
        needed <= load.most,
        "this load needs about {} s and --most allows {} s: ask for fewer --rounds or --runs or \
         a shorter --window, or allow more by --most {}s",
        needed.as_secs(),
        load.most.as_secs(),
        needed.as_secs() * 3 / 2
    );
    Ok(())
}

/// The least that a load takes: what is planned, without the work itself.
fn expected(load: &Load) -> Duration {
    let round = lead(load.students_in_all()) + load.window + QUIET * 2;
    let run = round * u32::from(load.rounds + 1) + Duration::from_secs(1);
    let subjects = u32::try_from(Subject::ALL.len()).unwrap_or(u32::MAX);
    run * subjects * u32::from(load.runs)
}

/// Measures everything. Ends within the load's time: with the runs done by then, if there are any.
pub(crate) async fn all(load: &Load, server: &Source) -> anyhow::Result<Vec<Run>> {
    let bar = progress_bar(load)?;
    let mut runs = Vec::new();
    let repeat = async {
        for number in 0..load.runs {
            runs.push(one(load, server, number, &bar).await?);
        }
        anyhow::Ok(())
    };
    let ended = timeout(load.most, repeat).await;
    bar.finish_and_clear();
    match ended {
        Ok(result) => result?,
        Err(_) if runs.is_empty() => {
            bail!("no run was done within {} s: allow more by --most", load.most.as_secs())
        }
        Err(_) => {}
    }
    Ok(runs)
}

async fn one(load: &Load, server: &Source, number: u16, bar: &ProgressBar) -> anyhow::Result<Run> {
    let tell = |subject: Subject| {
        bar.set_message(format!("run {} of {}, {}", number + 1, load.runs, subject.name()));
    };
    tell(Subject::Server);
    let measured = measure(server.start(&[]).await?, load, bar).await;
    let first = measured.with_context(|| format!("the server, run {}", number + 1))?;
    tell(Subject::Floor);
    let floor = baseline(Baseline::FLOOR, &first.script, load, bar).await?;
    tell(Subject::Frames);
    let frames = baseline(Baseline::FRAMES, &first.script, load, bar).await?;
    tell(Subject::Keeper);
    let keeper = baseline(Baseline::FLOOR.that_keeps(), &first.script, load, bar).await?;
    Ok(Run { outcomes: [first, floor, frames, keeper] })
}

async fn baseline(
    which: Baseline,
    script: &Script,
    load: &Load,
    bar: &ProgressBar,
) -> anyhow::Result<Outcome> {
    let running = server::start_baseline(which, script, None).await?;
    measure(running, load, bar).await.with_context(|| format!("the baseline {which:?}"))
}

async fn measure(running: Running, load: &Load, bar: &ProgressBar) -> anyhow::Result<Outcome> {
    let (target, load, bar) = (running.target.clone(), load.clone(), bar.clone());
    let run = move || conduct::run(&target, &load, || bar.inc(1));
    let outcome = tokio::task::spawn_blocking(run).await??;
    running.end().await?;
    Ok(outcome)
}

/// Shown on standard error, and only on a terminal.
fn progress_bar(load: &Load) -> anyhow::Result<ProgressBar> {
    let rounds = u64::from(load.runs) * Subject::ALL.len() as u64 * u64::from(load.rounds + 1);
    let style = ProgressStyle::with_template("{elapsed_precise} {wide_bar} {pos}/{len} {msg}")?;
    Ok(ProgressBar::new(rounds).with_style(style))
}
