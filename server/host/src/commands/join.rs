//! `myonym join`.

use std::process::ExitCode;

use crate::cli::JoinArgs;

pub(super) async fn run(args: JoinArgs) -> anyhow::Result<ExitCode> {
    let _ = args;
    Ok(ExitCode::SUCCESS)
}
