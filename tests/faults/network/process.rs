//! What the system tells of a process, from `/proc`.

use std::fs;

use anyhow::{Context as _, Result};

/// What a process takes up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Size {
    /// Resident memory in bytes.
    pub(crate) memory: u64,
    /// Open descriptors.
    pub(crate) descriptors: usize,
}

impl Size {
    /// Looks at a process.
    pub(crate) fn of(process: u32) -> Result<Self> {
        let read = |file: &str| fs::read_to_string(format!("/proc/{process}/{file}"));
        // `smaps_rollup` counts pages; the sums in `status` lag behind (proc(5)).
        let text = read("smaps_rollup").context("no memory is told of here")?;
        let line = text.lines().find_map(|line| line.strip_prefix("Rss:")?.strip_suffix("kB"));
        let kib: u64 = line.context("no resident memory")?.trim().parse()?;
        let descriptors = fs::read_dir(format!("/proc/{process}/fd"))?.count();
        Ok(Self { memory: kib * 1_024, descriptors })
    }
}
