//! Hosts live reviews of the skeletal muscles. The whole program is behind [`run`].

mod abreast;
mod chooser;
mod cli;
mod clock;
mod commands;
mod connection;
mod desk;
mod framed;
#[cfg(fuzzing)]
pub mod fuzzed;
mod gate;
mod groups;
mod handshake;
mod http;
mod keeping;
mod limits;
mod metered;
mod metrics;
mod names;
mod opening;
mod oplog;
mod outside;
mod pages;
mod pipe;
mod plan_file;
mod proxy;
mod pseudonyms;
mod reach;
mod reading;
mod rehearse;
mod results;
mod reviews;
mod room;
mod roster;
mod secrets;
mod store;
mod stream;
mod tls;
mod words;

use std::process::ExitCode;

use clap::Parser as _;

/// Reads the command line and does what it says.
pub fn run() -> ExitCode {
    let cli = cli::Cli::parse();
    metrics::remember_start();
    oplog::start(cli.log_format, cli.log_level, cli.is_service());
    commands::run(cli)
}
