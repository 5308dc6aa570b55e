//! Many who come at once: a class that joins, and one that comes back.

use std::time::Duration;

use myonym_wire::ReviewSettings;

use super::Measured;
use super::sheet::{Goal, Row};
use crate::class::{Class, Target};
use crate::conduct::SETTLE;
use crate::figures::{real, share};
use crate::machine::Meter;

/// Connections under way at once in a storm.
const AT_ONCE: usize = 128;
/// Times that a class comes back, after one to warm up; a small one once.
const TIMES: usize = 3;
/// Seated first, and not counted.
const WARM_UP: usize = 50;

/// Students join as fast as the server takes them.
pub(super) fn join(target: &Target, students: usize) -> anyhow::Result<Measured> {
    let mut server = Meter::new(target.pid);
    let mut class = Class::open(target, 1, students + WARM_UP, &ReviewSettings::default())?;
    class.seat(0..WARM_UP, AT_ONCE)?;
    class.listen(SETTLE)?;
    class.book.take();
    let before = server.cpu();
    let took = class.seat(WARM_UP..WARM_UP + students, AT_ONCE)?;
    class.listen(SETTLE)?;
    let spent = before.zip(server.cpu()).map(|(before, after)| after.saturating_sub(before));

    let count = students as u64;
    let mut values = vec![("joins_per_second".to_owned(), real(count) / took.as_secs_f64())];
    values.extend(share(spent, count).map(|each| ("cpu_per_join_us".to_owned(), each)));
    let joins = &class.book.tally.joins;
    values.push(("join_p50_us".to_owned(), real(joins.value_at_quantile(0.5))));
    values.push(("join_p99_us".to_owned(), real(joins.value_at_quantile(0.99))));
    Ok(whole(&class, values))
}

pub(super) fn join_rows() -> Vec<Row> {
    vec![
        Row::new("joins_per_second", "joins, seat and all (a second)").with(Goal::TimesFrames(0.9)),
        Row::new("cpu_per_join_us", "server CPU, a join (us)"),
        Row::new("join_p50_us", "join, one student, p50 (us)"),
        Row::new("join_p99_us", "join, one student, p99 (us)"),
    ]
}

/// A seated class is gone at once, and comes back at once.
pub(super) fn come_back(target: &Target, students: usize) -> anyhow::Result<Measured> {
    let mut server = Meter::new(target.pid);
    let mut class = Class::open(target, 1, students, &ReviewSettings::default())?;
    class.seat(0..students, AT_ONCE)?;
    let mut all = Vec::new();
    let mut spent = Some(Duration::ZERO);
    // The first time is to warm up.
    for time in 0..=(if students < 300 { 1 } else { TIMES }) {
        class.listen(SETTLE)?;
        let before = server.cpu();
        let took = class.leave_and_return()?;
        class.listen(SETTLE)?;
        let now = before.zip(server.cpu()).map(|(before, after)| after.saturating_sub(before));
        if time > 0 {
            all.push(took.as_secs_f64() * 1e3);
            spent = spent.zip(now).map(|(sum, now)| sum + now);
        }
    }
    let returns = all.len() as u64 * students as u64;
    let mut values = Vec::new();
    values.extend(crate::figures::median(all).map(|ms| (format!("return_all_ms_{students}"), ms)));
    values
        .extend(share(spent, returns).map(|each| (format!("cpu_per_return_us_{students}"), each)));
    Ok(whole(&class, values))
}

pub(super) fn rows(students: usize) -> [Row; 2] {
    [
        Row::new(format!("return_all_ms_{students}"), format!("all {students} seated again (ms)")),
        Row::new(
            format!("cpu_per_return_us_{students}"),
            format!("server CPU, a return, {students} (us)"),
        ),
    ]
}

fn whole(class: &Class, values: Vec<(String, f64)>) -> Measured {
    let lost = class.book.dropped;
    let faults = (lost > 0).then(|| format!("{lost} connections were lost"));
    Measured { values, script: class.book.script.clone(), faults: faults.into_iter().collect() }
}
