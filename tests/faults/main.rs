//! Faults against the real program: `myonym host` in a process of its own, real sockets on the
//! loopback, real files. A class plays on by itself while something is broken under it; in the end
//! every answer that a student was told is recorded is looked for in the log. One table is printed,
//! and the exit code says whether it is clean.
//!
//! `DEVELOPERS.md` ("Fault suite") says what each row does. A run is a seed: `--seed N --only NAME`
//! plays one fault again, as far as the operating system lets it.

mod crowd;
mod disk_full;
mod kill;
mod mount;
mod network;
mod options;
mod shim;
mod slow_disk;
mod stopwatch;
mod table;
mod torn_log;
mod upgrade;

use std::process::ExitCode;
use std::time::Duration;

use anyhow::Result;
use futures_util::FutureExt as _;
use futures_util::future::{LocalBoxFuture, join_all};

use options::{Given, Options};
use table::{Outcome, Table};

/// One fault of the suite.
struct Fault {
    name: &'static str,
    run: fn(Given) -> LocalBoxFuture<'static, Result<Outcome>>,
}

/// Every fault, in the order of the table.
const FAULTS: &[Fault] = &[
    Fault { name: "kill", run: |given| kill::run(given).boxed_local() },
    Fault { name: "torn-log", run: |given| torn_log::run(given).boxed_local() },
    Fault { name: "disk-full", run: |given| disk_full::run(given).boxed_local() },
    Fault { name: "slow-disk", run: |given| slow_disk::slow(given).boxed_local() },
    Fault { name: "failing-disk", run: |given| slow_disk::failing(given).boxed_local() },
    Fault { name: "upgrade", run: |given| upgrade::run(given).boxed_local() },
];

/// All faults, in the order of the table; those of one group are played at the same time.
fn groups() -> Vec<Vec<&'static Fault>> {
    let mut groups: Vec<Vec<_>> = FAULTS.iter().map(|fault| vec![fault]).collect();
    groups.push(network::SIDE_BY_SIDE.iter().collect());
    groups.push(vec![&network::SOAK]);
    groups
}

fn main() -> Result<ExitCode> {
    let Some(options) = Options::read() else { return Ok(ExitCode::SUCCESS) };
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
    let all = groups().concat();
    let chosen = options.choose(&all, |fault| fault.name)?;
    if let (true, [fault]) = (options.is_inside(), &*chosen) {
        let outcome = runtime.block_on((fault.run)(options.given(fault.name)));
        return Ok(table::hand_out(outcome));
    }
    let mut table = Table::new(&options);
    for group in groups() {
        let chosen = group.iter().filter(|fault| chosen.iter().any(|of| of.name == fault.name));
        let played = chosen.map(|fault| play(fault, options.given(fault.name)));
        for (name, outcome, took) in runtime.block_on(join_all(played)) {
            table.add(name, outcome, took);
        }
    }
    Ok(table.finish())
}

async fn play(fault: &Fault, given: Given) -> (&'static str, Result<Outcome>, Duration) {
    given.say("begins");
    let began = stopwatch::now();
    let outcome = (fault.run)(given).await;
    (fault.name, outcome, began.elapsed())
}
