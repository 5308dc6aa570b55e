//! Faults against the real program: `myonym host` in a process of its own, real sockets on the
//! loopback, real files. A class plays on by itself while something is broken under it; in the end
//! every answer that a student was told is recorded is looked for in the log. One table is printed,
//! and the exit code says whether it is clean.
//!
//! `DEVELOPERS.md` ("Fault suite") says what each row does. A run is a seed: `--seed N --only NAME`
//! plays one fault again, as far as the operating system lets it.

mod cohort;
mod crowd;
mod half_open;
mod hall;
mod kill;
mod options;
mod proxy;
mod stopwatch;
mod storm;
mod table;

use std::process::ExitCode;

use anyhow::Result;
use futures_util::FutureExt as _;
use futures_util::future::LocalBoxFuture;

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
    Fault { name: "storm", run: |given| storm::run(given).boxed_local() },
    Fault { name: "half_open", run: |given| half_open::run(given).boxed_local() },
];

fn main() -> Result<ExitCode> {
    let Some(options) = Options::read()? else { return Ok(ExitCode::SUCCESS) };
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
    let mut table = Table::new(&options);
    for fault in options.choose(FAULTS, |fault| fault.name)? {
        let given = options.given(fault.name);
        given.say("begins");
        let began = stopwatch::now();
        let outcome = runtime.block_on((fault.run)(given));
        table.add(fault.name, outcome, began.elapsed());
    }
    Ok(table.finish())
}
