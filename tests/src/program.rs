//! The real programs, built once for each test executable.

use std::env;
use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::OnceLock;

use anyhow::{Context as _, Result, anyhow, ensure};
use tokio::time::timeout;

use crate::DEADLINE;

/// Where the programs are.
#[derive(Debug)]
pub struct Program {
    /// `myonym`.
    pub host: PathBuf,
    /// `myonym-play`.
    pub student: PathBuf,
}

/// What a program that ran to its end left behind.
#[derive(Debug)]
pub struct Ran {
    /// Exit code; `None` if a signal ended it.
    pub code: Option<i32>,
    /// Standard output.
    pub out: String,
    /// Standard error.
    pub err: String,
}

impl Program {
    /// The programs, built by cargo with the profile and into the target folder of the running
    /// test, so that a test never runs an old one; or those that `MYONYM_BIN` names, `myonym` itself
    /// and `myonym-play` beside it, to try ones that were built elsewhere.
    pub fn built() -> Result<&'static Self> {
        static BUILT: OnceLock<Result<Program, String>> = OnceLock::new();
        BUILT
            .get_or_init(|| named().map_or_else(build, Ok).map_err(|fault| format!("{fault:#}")))
            .as_ref()
            .map_err(|fault| anyhow!("{fault}"))
    }

    /// Runs `myonym` to its end, with no terminal.
    pub async fn run(arguments: &[&str]) -> Result<Ran> {
        let mut command = tokio::process::Command::new(&Self::built()?.host);
        command.args(arguments).stdin(Stdio::null()).kill_on_drop(true);
        let output = timeout(3 * DEADLINE, command.output())
            .await
            .with_context(|| format!("myonym {} does not end", arguments.join(" ")))??;
        Ok(Ran {
            code: output.status.code(),
            out: String::from_utf8(output.stdout)?,
            err: String::from_utf8(output.stderr)?,
        })
    }
}

fn named() -> Option<Program> {
    let host = PathBuf::from(env::var_os("MYONYM_BIN")?);
    let student = host.with_file_name(format!("myonym-play{}", env::consts::EXE_SUFFIX));
    Some(Program { host, student })
}

fn build() -> Result<Program> {
    let test = env::current_exe()?;
    // target/PROFILE/deps/TEST
    let folder = test.ancestors().nth(2).context("the test is in no target folder")?;
    let target = folder.parent().context("the test is in no target folder")?;
    let profile = folder.file_name().and_then(|name| name.to_str()).context("no profile")?;
    let output = Command::new(cargo())
        .args(["build", "--quiet", "-p", "myonym", "-p", "myonym-play"])
        .args(["--profile", if profile == "debug" { "dev" } else { profile }])
        .arg("--target-dir")
        .arg(target)
        .current_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join(".."))
        .stdin(Stdio::null())
        .output()
        .context("cannot run cargo")?;
    let errors = String::from_utf8_lossy(&output.stderr);
    ensure!(output.status.success(), "the programs do not build:\n{errors}");
    let program = |name: &str| folder.join(format!("{name}{}", env::consts::EXE_SUFFIX));
    Ok(Program { host: program("myonym"), student: program("myonym-play") })
}

fn cargo() -> OsString {
    let compiled = option_env!("CARGO").map(OsString::from);
    env::var_os("CARGO").or(compiled).unwrap_or_else(|| "cargo".into())
}
