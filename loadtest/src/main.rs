//! Open-loop load against a real server of live reviews, beside bare servers for comparison.
//!
//! It starts the program `myonym`, fills its rooms with students over real sockets on this
//! machine, and measures what they see: how soon an answer is received and recorded, and how far
//! apart the first and the last student see a clue. The same load is then put on the baselines,
//! so that a figure can be read as a ratio: times differ between machines, ratios hardly do.
//! Of the server it knows the wire, and no rule, no muscle and nothing inside. Apart from that,
//! `term` makes up a log of a whole term, in the events of the rules, and measures a report on it.

#![expect(clippy::disallowed_methods, reason = "measuring is reading the clock")]
#![expect(clippy::print_stdout, reason = "the table is this program's result")]
#![expect(clippy::print_stderr, reason = "what went wrong is told to the user")]

use std::process::ExitCode;

use anyhow::{Context, bail};
use clap::Parser;
use tokio::runtime;

mod args;
mod baseline;
mod class;
mod commits;
mod conduct;
mod crowd;
mod figures;
mod frame;
mod heard;
mod machine;
mod measure;
mod plan;
mod report;
mod runs;
mod scenarios;
mod script;
mod server;
mod start;
mod table;
mod term;
mod tls;

fn main() -> ExitCode {
    run().unwrap_or_else(|error| {
        // Not the `Debug` form that `main` would print: its backtrace tells a user nothing.
        eprintln!("myonym-loadtest: {error:#}");
        ExitCode::FAILURE
    })
}

fn run() -> anyhow::Result<ExitCode> {
    // One thread: the clients share the machine with the server, so they must be cheap.
    let runtime = runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .context("cannot start the runtime")?;
    let done = runtime_task(&runtime, args::Command::parse().into_task()?);
    // Clients that were stopped half-way are not waited for.
    runtime.shutdown_background();
    done
}

fn runtime_task(runtime: &runtime::Runtime, task: args::Task) -> anyhow::Result<ExitCode> {
    match task {
        args::Task::Baseline { kind, script, certificate, ledger } => {
            let served = baseline::serve_until_input_ends(kind, script, certificate, ledger);
            runtime.block_on(served)?;
            Ok(ExitCode::SUCCESS)
        }
        args::Task::Term(term) => {
            runtime.block_on(term::run(&term))?;
            Ok(ExitCode::SUCCESS)
        }
        args::Task::Start(start) => {
            runtime.block_on(start::run(&start))?;
            Ok(ExitCode::SUCCESS)
        }
        args::Task::Scenarios(asked) => runtime.block_on(scenarios::run(&asked)),
        args::Task::Compare { before, after } => {
            println!("{}", scenarios::compare::text(&before, &after)?);
            Ok(ExitCode::SUCCESS)
        }
        args::Task::Load(load) => runtime.block_on(measure_and_report(*load)),
    }
}

/// Runs the load, prints the table, and writes the JSON where it was asked for.
async fn measure_and_report(load: args::Load) -> anyhow::Result<ExitCode> {
    machine::check_open_files(load.students_in_all())?;
    runs::check_time(&load)?;
    let server = server::Source::prepare(&load.server).await?;
    let results = tokio::select! {
        results = runs::all(&load, &server) => results?,
        _ = tokio::signal::ctrl_c() => bail!("stopped by the keyboard; nothing is reported"),
    };
    println!("{}", report::text(&load, &results));
    if let Some(path) = &load.json {
        let json = report::json(&load, &results)?;
        std::fs::write(path, json).with_context(|| format!("cannot write {}", path.display()))?;
    }
    // An answer that was lost or acknowledged twice is a fault of what was measured.
    Ok(if report::faults(&results).is_empty() { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}
