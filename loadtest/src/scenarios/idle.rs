//! An idle crowd: what a seated student costs who does nothing.

use std::time::{Duration, Instant};

use myonym_wire::ReviewSettings;

use super::Measured;
use super::sheet::{Goal, Row};
use crate::class::{Class, Target};
use crate::conduct::{JOINING_AT_ONCE, SETTLE};
use crate::figures::real;
use crate::machine::Meter;

/// All are silent this long before memory is read: each connection was pinged by then.
const SILENCE: Duration = Duration::from_secs(11);
/// CPU is counted over this time: each connection is pinged once in it.
const IDLE: Duration = Duration::from_secs(10);
/// A smaller crowd only shows that it works, and waits less.
const CROWD: usize = 1_000;

pub(super) fn measure(target: &Target, students: usize, tls: bool) -> anyhow::Result<Measured> {
    let mut server = Meter::new(target.pid);
    let settings = ReviewSettings::default();
    let mut class = Class::open(target, 1, students, &settings)?;
    class.listen(SETTLE)?;
    let before = server.memory();
    let joined = class.seat(0..students, JOINING_AT_ONCE)?;
    let (silence, idle) = if students < CROWD { (SETTLE, SETTLE) } else { (SILENCE, IDLE) };
    class.listen(silence)?;
    let after = server.memory();
    let (began, first) = (Instant::now(), server.cpu());
    class.listen(idle)?;
    let (passed, last) = (began.elapsed(), server.cpu());

    let kind = if tls { "tls" } else { "plain" };
    let mut values = vec![(format!("{kind}_join_all_ms"), joined.as_secs_f64() * 1e3)];
    if let Some((before, after)) = before.zip(after) {
        let each = real(after.saturating_sub(before)) / 1_024.0 / real(students as u64);
        values.push((format!("{kind}_memory_per_student_kib"), each));
    }
    if let Some((first, last)) = first.zip(last) {
        let each = last.saturating_sub(first).as_secs_f64() * 1e3 / passed.as_secs_f64();
        values.push((format!("{kind}_idle_cpu_ms"), each));
    }
    let gone = class.book.dropped;
    let faults = (gone > 0).then(|| format!("{gone} of {students} connections were lost"));
    let script = class.book.script.clone();
    Ok(Measured { values, script, faults: faults.into_iter().collect() })
}

pub(super) fn rows() -> Vec<Row> {
    let rows = |kind: &str, words: &str, most: f64| {
        [
            Row::new(
                format!("{kind}_memory_per_student_kib"),
                format!("memory, a student, {words} (KiB)"),
            )
            .with(Goal::Most(most)),
            Row::new(
                format!("{kind}_idle_cpu_ms"),
                format!("server CPU, a second of idling, {words} (ms)"),
            ),
            Row::new(format!("{kind}_join_all_ms"), format!("join, all students, {words} (ms)")),
        ]
    };
    [rows("plain", "in the clear", 6.0), rows("tls", "TLS", 30.0)].concat()
}
