//! One report, watched from outside.

use std::fs::{self, File};
use std::path::Path;
use std::process::Stdio;
use std::time::{Duration, Instant};

use anyhow::{Context, ensure};
use tokio::process::Command;
use tokio::time;

/// How often the memory is looked at. Its high-water mark never falls, so the last look is the most.
const LOOK: Duration = Duration::from_millis(5);

/// What one report took.
#[derive(Debug, Clone, Copy)]
pub(super) struct Watched {
    /// Answers and silences read.
    pub(super) rows: u64,
    /// Reading, in milliseconds, as the program's log tells.
    pub(super) reading_ms: u64,
    /// Analysing.
    pub(super) analysing_ms: u64,
    /// From start to end of the process.
    pub(super) whole_ms: u64,
    /// The most memory that was resident, in KiB; `None` where the system does not tell.
    pub(super) memory_kib: Option<u64>,
}

/// Reports on everything in a folder, as JSON into a file.
pub(super) async fn report(program: &Path, folder: &Path, to: &Path) -> anyhow::Result<Watched> {
    let log = to.with_extension("log");
    let began = Instant::now();
    let mut child = Command::new(program)
        .args(["report", "all", "--json", "--data"])
        .arg(folder)
        .env("MYONYM_LOG", "myonym=debug")
        .env("NO_COLOR", "1")
        .stdin(Stdio::null())
        .stdout(File::create(to)?)
        .stderr(File::create(&log)?)
        .kill_on_drop(true)
        .spawn()
        .with_context(|| format!("cannot run {}", program.display()))?;
    let mut memory = None;
    let status = loop {
        memory = child.id().and_then(high_water).or(memory);
        if let Ok(status) = time::timeout(LOOK, child.wait()).await {
            break status?;
        }
    };
    let whole = began.elapsed();
    let told = fs::read_to_string(&log)?;
    ensure!(status.success(), "the report failed: {told}");
    let number = |name: &str| -> anyhow::Result<u64> {
        let (_, rest) = told.split_once(&format!("{name}=")).with_context(|| told.clone())?;
        let digits: String = rest.chars().take_while(char::is_ascii_digit).collect();
        Ok(digits.parse()?)
    };
    Ok(Watched {
        rows: number("rows")?,
        reading_ms: number("reading_ms")?,
        analysing_ms: number("analysing_ms")?,
        whole_ms: u64::try_from(whole.as_millis()).unwrap_or(u64::MAX),
        memory_kib: memory,
    })
}

/// `VmHWM` of a process, in KiB.
fn high_water(pid: u32) -> Option<u64> {
    let status = fs::read_to_string(format!("/proc/{pid}/status")).ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    line.trim().strip_suffix("kB")?.trim().parse().ok()
}
