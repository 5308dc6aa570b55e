//! What the system tells of processes: CPU, memory, descriptors and limits, read from `/proc`.
//! On a system without it nothing is told, and the report says `not measured here`.

use std::collections::BTreeMap;
use std::fs;
use std::time::Duration;

use anyhow::ensure;
use serde::Serialize;

/// Kernel ticks a second in `/proc/PID/stat`: 100 wherever Linux shows them to programs (proc(5)).
const TICKS_PER_SECOND: u64 = 100;

/// Descriptors that a process needs beside its connections.
const SPARE_DESCRIPTORS: usize = 100;

/// Reads one process.
#[derive(Debug)]
pub(crate) struct Meter {
    /// The process; `None` where it is not ours to read.
    pid: Option<u32>,
    /// Nanoseconds on a CPU by thread, last reading: a thread that has ended keeps its share.
    threads: BTreeMap<u32, u64>,
}

/// How finely CPU time was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum CpuClock {
    /// From `/proc/PID/task/TID/schedstat`, in nanoseconds.
    Nanoseconds,
    /// From `/proc/PID/stat`, in ticks of 10 ms.
    Ticks,
    /// This system does not tell.
    None,
}

impl Meter {
    /// A meter of a process, or of nothing.
    pub(crate) fn new(pid: Option<u32>) -> Self {
        Self { pid, threads: BTreeMap::new() }
    }

    /// CPU time of the process so far, of user and system together.
    pub(crate) fn cpu(&mut self) -> Option<Duration> {
        self.fine_cpu().or_else(|| {
            let ticks = stat_ticks(&self.read("stat")?)?;
            Some(Duration::from_millis(ticks * 1_000 / TICKS_PER_SECOND))
        })
    }

    /// Resident memory in bytes. `smaps_rollup` counts pages; the sums in `status` lag behind.
    pub(crate) fn memory(&self) -> Option<u64> {
        let kib = |file, label| kib_after(&self.read(file)?, label);
        let kib = kib("smaps_rollup", "Rss:").or_else(|| kib("status", "VmRSS:"))?;
        Some(kib * 1_024)
    }

    /// Open descriptors.
    pub(crate) fn descriptors(&self) -> Option<usize> {
        Some(fs::read_dir(format!("/proc/{}/fd", self.pid?)).ok()?.count())
    }

    fn read(&self, file: &str) -> Option<String> {
        fs::read_to_string(format!("/proc/{}/{file}", self.pid?)).ok()
    }

    fn fine_cpu(&mut self) -> Option<Duration> {
        for entry in fs::read_dir(format!("/proc/{}/task", self.pid?)).ok()?.flatten() {
            let thread: u32 = entry.file_name().to_str()?.parse().ok()?;
            // A thread may end between the listing and the reading: its last reading stands.
            if let Ok(text) = fs::read_to_string(entry.path().join("schedstat")) {
                self.threads.insert(thread, run_nanos(&text)?);
            }
        }
        let nanos: u64 = self.threads.values().sum();
        (nanos > 0).then(|| Duration::from_nanos(nanos))
    }
}

/// How finely this system tells CPU time.
pub(crate) fn cpu_clock() -> CpuClock {
    let mut own = Meter::new(Some(std::process::id()));
    if own.fine_cpu().is_some() {
        CpuClock::Nanoseconds
    } else if own.cpu().is_some() {
        CpuClock::Ticks
    } else {
        CpuClock::None
    }
}

/// Refuses a load that this shell's limit on open files would break half-way. A child process
/// has the same limit, and as many connections.
pub(crate) fn check_open_files(students: usize) -> anyhow::Result<()> {
    let Some(limit) =
        fs::read_to_string("/proc/self/limits").ok().as_deref().and_then(open_file_limit)
    else {
        return Ok(());
    };
    check_limit(students, limit)
}

fn check_limit(students: usize, limit: usize) -> anyhow::Result<()> {
    let needed = students + SPARE_DESCRIPTORS;
    ensure!(
        needed <= limit,
        "{students} students need {needed} open files and the limit here is {limit}: \
         raise it in this shell by `ulimit -n {needed}`, or ask for fewer students"
    );
    Ok(())
}

/// `utime` + `stime` of `/proc/PID/stat`, fields 14 and 15 (proc(5)). The second field is the
/// program's name in brackets and may itself hold spaces and brackets.
fn stat_ticks(text: &str) -> Option<u64> {
    let after_name = &text[text.rfind(')')? + 1..];
    let mut fields = after_name.split_ascii_whitespace().skip(11);
    let user: u64 = fields.next()?.parse().ok()?;
    let system: u64 = fields.next()?.parse().ok()?;
    Some(user + system)
}

/// Nanoseconds on a CPU: the first number of `schedstat` (the kernel's sched-stats.rst).
fn run_nanos(text: &str) -> Option<u64> {
    text.split_ascii_whitespace().next()?.parse().ok()
}

/// The number of kB after a label, as in `Rss:   1760 kB`.
fn kib_after(text: &str, label: &str) -> Option<u64> {
    let rest = text.lines().find_map(|line| line.strip_prefix(label))?;
    rest.trim().strip_suffix("kB")?.trim().parse().ok()
}

/// The soft limit on open files in `/proc/PID/limits`.
fn open_file_limit(text: &str) -> Option<usize> {
    let rest = text.lines().find_map(|line| line.strip_prefix("Max open files"))?;
    match rest.split_ascii_whitespace().next()? {
        "unlimited" => Some(usize::MAX),
        number => number.parse().ok(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Layouts as in proc(5); the stat line is that of a shell on Linux 6.18, shortened in no way
    // but for the name, which is made awkward.
    const STAT: &str = "4242 (a b) R) S 10766 10766 7650 0 -1 4194304 100 0 0 0 21 2 7 9 20 0 1 0 \
        141520 3133440 406 18446744073709551615 93983415422976 93983415442857 140728769097968 0 0 \
        0 0 0 0 0 0 0 17 1 0 0 0 0 0 93983415458864 93983415460480 93983611637760 140728769104611 \
        140728769104631 140728769104631 140728769105899 0";

    #[test]
    fn cpu_time_is_read_from_stat() {
        assert_eq!(stat_ticks(STAT), Some(23));
        assert_eq!(stat_ticks("4242 (short) S 1 2"), None);
        assert_eq!(stat_ticks(""), None);
    }

    #[test]
    fn cpu_time_is_read_from_schedstat() {
        assert_eq!(run_nanos("240804090 54969649 40\n"), Some(240_804_090));
        assert_eq!(run_nanos(""), None);
    }

    #[test]
    fn memory_is_read() {
        let check = |text: &str, label: &str, want: Option<u64>| {
            assert_eq!(kib_after(text, label), want, "{text}");
        };
        let rollup = "55992489000-7fffbf65f000 ---p 00000000 00:00 0   [rollup]\n\
                      Rss:                1760 kB\nPss:                 377 kB\n";
        check(rollup, "Rss:", Some(1760));
        check("VmPeak:\t  9000 kB\nVmRSS:\t    3124 kB\n", "VmRSS:", Some(3124));
        check("VmRSS:\tmuch\n", "VmRSS:", None);
        check("", "Rss:", None);
    }

    #[test]
    fn the_limit_on_open_files_is_read() {
        let head = "Limit                     Soft Limit           Hard Limit           Units\n";
        let check = |line: &str, want: Option<usize>| {
            assert_eq!(open_file_limit(&format!("{head}{line}\n")), want, "{line}");
        };
        check(
            "Max open files            1024                 524288               files",
            Some(1024),
        );
        check(
            "Max open files            unlimited            unlimited            files",
            Some(usize::MAX),
        );
        check(
            "Max processes             1                    1                    processes",
            None,
        );
    }

    #[test]
    fn a_load_beyond_the_limit_says_what_to_do() {
        let error = check_limit(2_000, 1_024).unwrap_err().to_string();
        assert!(error.contains("`ulimit -n 2100`"), "{error}");
        assert!(check_limit(924, 1_024).is_ok());
    }

    #[test]
    #[cfg(target_os = "linux")]
    fn this_process_can_be_read() {
        let mut own = Meter::new(Some(std::process::id()));
        assert!(own.memory().is_some_and(|bytes| bytes > 0));
        assert!(own.descriptors().is_some_and(|count| count >= 3));
        let first = own.cpu().unwrap();
        assert!(own.cpu().unwrap() >= first);
        assert_eq!(Meter::new(None).cpu(), None);
    }
}
