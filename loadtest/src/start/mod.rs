//! How soon a host is ready after its process was started, beside a process that only listens.

mod args;
mod folder;
mod watched;

use std::path::{Path, PathBuf};
use std::time::Duration;

use anyhow::Context;
use comfy_table::Table;
use tokio::process::Command;

use crate::args::ServerChoice;
use crate::server::Source;
use crate::table::table;
pub(crate) use args::StartArgs;
use watched::Ready;

/// Starts to be measured.
#[derive(Debug, Clone)]
pub(crate) struct Start {
    /// Reviews in the data folder that are over.
    pub(crate) ended: u16,
    /// Reviews in it that were broken off, and are taken up.
    pub(crate) open: u16,
    /// Students in each.
    pub(crate) students: u16,
    /// Rounds of each.
    pub(crate) rounds: u16,
    /// Starts of each kind.
    pub(crate) runs: u16,
    /// The program.
    pub(crate) program: ServerChoice,
}

/// What is started, in the order of the table.
const LABELS: [&str; 3] =
    ["a process that listens", "host, no folder yet", "host, a term's folder"];

/// Starts each kind in turn, over and over, and prints medians.
pub(crate) async fn run(start: &Start) -> anyhow::Result<()> {
    let Source::Program(program) = Source::prepare(&start.program).await? else {
        anyhow::bail!("a start needs the program itself, not a server that runs");
    };
    let own = tempfile::tempdir().context("cannot make a temporary folder")?;
    let full = own.path().join("full");
    folder::fill(&program, &full, start).await?;
    let mut found: [Vec<Duration>; 3] = Default::default();
    for _ in 0..start.runs {
        found[0].push(watched::start(baseline()?, Ready::Listening).await?);
        let empty = own.path().join("empty");
        found[1].push(watched::start(host(&program, &empty), Ready::Healthy).await?);
        std::fs::remove_dir_all(&empty).context("cannot remove a temporary folder")?;
        let copy = own.path().join("copy");
        folder::copy(&full, &copy)?;
        found[2].push(watched::start(host(&program, &copy), Ready::Healthy).await?);
        std::fs::remove_dir_all(&copy).context("cannot remove a temporary folder")?;
    }
    println!("{}", starts(&found));
    Ok(())
}

fn host(program: &Path, data: &PathBuf) -> Command {
    let mut command = Command::new(program);
    command.args(["host", "--headless", "--address", "127.0.0.1", "--port", "0", "--data"]);
    command.arg(data);
    command
}

/// This program itself, as the floor of the load: it binds, listens and says so.
fn baseline() -> anyhow::Result<Command> {
    let own = std::env::current_exe().context("cannot find this program's own file")?;
    let mut command = Command::new(own);
    command.args(["baseline", "floor"]);
    Ok(command)
}

fn starts(found: &[Vec<Duration>; 3]) -> Table {
    let head = ["started", "ready (ms)", "least to greatest", "over the first"];
    let mut table = table(head, 0..0);
    let median = |all: &[Duration]| middle(all.to_vec());
    let floor = median(&found[0]);
    for (label, all) in LABELS.into_iter().zip(found) {
        let ready = median(all);
        let least = all.iter().copied().min().unwrap_or_default();
        let greatest = all.iter().copied().max().unwrap_or_default();
        table.add_row([
            label.to_owned(),
            millis(ready),
            format!("{} to {}", millis(least), millis(greatest)),
            format!("{:.1}", ready.as_secs_f64() / floor.as_secs_f64().max(1e-9)),
        ]);
    }
    table
}

/// The median; the upper one of two.
fn middle(mut all: Vec<Duration>) -> Duration {
    all.sort_unstable();
    all.get(all.len() / 2).copied().unwrap_or_default()
}

fn millis(time: Duration) -> String {
    format!("{:.1}", time.as_secs_f64() * 1_000.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn medians_are_of_any_order() {
        let of =
            |millis: &[u64]| middle(millis.iter().copied().map(Duration::from_millis).collect());
        assert_eq!(of(&[30, 10, 20]), Duration::from_millis(20));
        assert_eq!(of(&[]), Duration::ZERO);
    }

    #[test]
    fn ratios_are_to_the_first() {
        let took = |millis| vec![Duration::from_millis(millis)];
        let text = starts(&[took(10), took(25), took(40)]).to_string();
        let rows: Vec<&str> = text.lines().skip(2).collect();
        assert!(rows[0].contains(" 1.0 ") && rows[1].contains(" 2.5 "), "{text}");
        assert!(rows[2].contains(" 4.0 "), "{text}");
    }
}
