//! The command line of `start`.

use std::path::PathBuf;

use clap::value_parser;

use super::Start;
use crate::args::ServerChoice;

/// Starts as they are asked for.
#[derive(Debug, clap::Args)]
pub(crate) struct StartArgs {
    /// Reviews in the full folder that are over.
    #[arg(long, default_value_t = 50, value_parser = value_parser!(u16).range(0..=2_000))]
    ended: u16,
    /// Reviews in it that were broken off, and are taken up.
    #[arg(long, default_value_t = 5, value_parser = value_parser!(u16).range(0..=100))]
    open: u16,
    /// Students in each.
    #[arg(long, default_value_t = 30, value_parser = value_parser!(u16).range(1..=2_000))]
    students: u16,
    /// Rounds of each.
    #[arg(long, default_value_t = 20, value_parser = value_parser!(u16).range(1..=100))]
    rounds: u16,
    /// Starts of each kind; the table shows medians.
    #[arg(long, default_value_t = 15, value_parser = value_parser!(u16).range(1..=200))]
    runs: u16,
    /// The program to measure, in place of the one that cargo builds here.
    #[arg(long, value_name = "PATH")]
    server: Option<PathBuf>,
}

impl StartArgs {
    /// As it can be run.
    pub(crate) fn into_start(self) -> Start {
        let Self { ended, open, students, rounds, runs, server } = self;
        let program = server.map_or(ServerChoice::Built, ServerChoice::Program);
        Start { ended, open, students, rounds, runs, program }
    }
}
