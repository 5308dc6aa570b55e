//! Hosts live reviews of the skeletal muscles. The whole program is behind [`run`].

mod chooser;
mod cli;
mod clock;
mod commands;
mod connection;
mod groups;
mod http;
mod keeping;
mod limits;
mod names;
mod opening;
mod outside;
mod plan_file;
mod pseudonyms;
mod reading;
mod rehearse;
mod results;
mod reviews;
mod room;
mod secrets;
mod store;
mod words;

use std::process::ExitCode;

use clap::Parser as _;
use tracing_subscriber::EnvFilter;

/// Reads the command line and does what it says.
///
/// The operations log goes to standard error, and only where the program runs as a service or
/// `MYONYM_LOG` asks for it: it would ruin a screen.
pub fn run() -> ExitCode {
    let cli = cli::Cli::parse();
    let default = if cli.is_service() { "myonym=info" } else { "off" };
    let filter = EnvFilter::try_from_env("MYONYM_LOG").unwrap_or_else(|_| EnvFilter::new(default));
    tracing_subscriber::fmt().with_env_filter(filter).with_writer(std::io::stderr).init();
    commands::run(cli)
}
