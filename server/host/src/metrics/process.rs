//! What the system tells of this program, where it has a `/proc`.

use std::fs;
use std::sync::OnceLock;

use crate::clock;

/// When the program started: wall-clock seconds.
static STARTED: OnceLock<i64> = OnceLock::new();

/// Remembers that the program starts now.
pub(crate) fn remember_start() {
    STARTED.get_or_init(clock::wall_seconds);
}

/// When the program started: wall-clock seconds.
pub(super) fn started() -> i64 {
    *STARTED.get_or_init(clock::wall_seconds)
}

/// Memory that is resident, in bytes.
pub(super) fn resident_bytes() -> Option<u64> {
    let status = fs::read_to_string("/proc/self/status").ok()?;
    let kib = status.lines().find_map(|line| line.strip_prefix("VmRSS:"))?;
    kib.trim().strip_suffix(" kB")?.parse::<u64>().ok()?.checked_mul(1_024)
}

/// Descriptors that are open.
pub(super) fn open_descriptors() -> Option<u64> {
    let all = fs::read_dir("/proc/self/fd").ok()?.count();
    // One of them was there to read that folder.
    u64::try_from(all).ok()?.checked_sub(1)
}

/// Descriptors that may be open.
pub(super) fn most_descriptors() -> Option<u64> {
    let limits = fs::read_to_string("/proc/self/limits").ok()?;
    let row = limits.lines().find_map(|line| line.strip_prefix("Max open files"))?;
    row.split_whitespace().next()?.parse().ok()
}
