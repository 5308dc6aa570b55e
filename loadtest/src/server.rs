//! The processes under load: built where needed, started, and ended by their own handles.

use std::ffi::OsStr;
use std::fs::File;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::process::Stdio;
use std::time::Duration;

use anyhow::{Context, bail, ensure};
use myonym_wire::HostKey;
use tempfile::TempDir;
use tokio::io::{AsyncBufRead, AsyncBufReadExt, BufReader};
use tokio::process::{Child, Command};
use tokio::time::timeout;

use crate::args::{BaselineKind, ROUND_LIMIT, ServerChoice};
use crate::class::Target;
use crate::script::Script;
use crate::tls;

/// Longest wait for a process to say where it listens.
const START_PATIENCE: Duration = Duration::from_secs(20);

/// What a server process writes on its standard output, one `label value` line each.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Greeting {
    address: SocketAddr,
    key: HostKey,
}

/// Where the server under test comes from.
#[derive(Debug)]
pub(crate) enum Source {
    /// A program to start afresh for each run.
    Program(PathBuf),
    /// A process of somebody else.
    Running(Target),
}

/// A process under load. Dropping it ends it.
#[derive(Debug)]
pub(crate) struct Running {
    /// What to load.
    pub(crate) target: Target,
    child: Option<Child>,
    /// The process's data and its log; removed with it.
    folder: TempDir,
}

impl Source {
    /// Makes the server ready to be started; builds it if it is to be built.
    pub(crate) async fn prepare(choice: &ServerChoice) -> anyhow::Result<Self> {
        Ok(match choice {
            ServerChoice::Built => Self::Program(build().await?),
            ServerChoice::Program(path) => {
                ensure!(path.is_file(), "there is no program at {}", path.display());
                Self::Program(path.clone())
            }
            ServerChoice::Running { address, key } => Self::Running(Target {
                address: *address,
                key: key.clone(),
                pid: None,
                trust: None,
            }),
        })
    }

    /// Starts the server, with more options than those that every run has.
    pub(crate) async fn start(&self, more: &[&str]) -> anyhow::Result<Running> {
        let folder = tempfile::tempdir().context("cannot make a temporary folder")?;
        match self {
            Self::Program(path) => {
                let mut command = Command::new(path);
                let limit = format!("{}s", ROUND_LIMIT.as_secs());
                command.args(["host", "--headless", "--address", "127.0.0.1", "--port", "0"]);
                command.args(["--pace", "instructor", "--limit", &limit]).args(more);
                command.arg("--data").arg(folder.path().join("data"));
                Running::start(command, folder).await
            }
            Self::Running(target) => Ok(Running { target: target.clone(), child: None, folder }),
        }
    }
}

/// A bare server to compare with.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Baseline {
    kind: BaselineKind,
    /// Whether nobody is told what is not on disk.
    keeps: bool,
}

impl Baseline {
    /// The least that speaks RFC 6455.
    pub(crate) const FLOOR: Self = Self { kind: BaselineKind::Floor, keeps: false };
    /// A bare tokio-tungstenite server.
    pub(crate) const FRAMES: Self = Self { kind: BaselineKind::Frames, keeps: false };

    /// The same, but it keeps what happens before it tells of it.
    pub(crate) const fn that_keeps(self) -> Self {
        Self { keeps: true, ..self }
    }
}

/// Starts a baseline in a process of its own, so that it is metered as the server is. With a
/// certificate's folder it speaks TLS.
pub(crate) async fn start_baseline(
    which: Baseline,
    script: &Script,
    certificate: Option<&Path>,
) -> anyhow::Result<Running> {
    let folder = tempfile::tempdir().context("cannot make a temporary folder")?;
    let path = folder.path().join("script.json");
    script.write(&path)?;
    let name = match which.kind {
        BaselineKind::Floor => "floor",
        BaselineKind::Frames => "frames",
    };
    let own = std::env::current_exe().context("cannot find this program's own file")?;
    let mut command = Command::new(own);
    command.args(["baseline", name, "--script"]).arg(path);
    if let Some(certificate) = certificate {
        command.arg("--certificate").arg(certificate);
    }
    if which.keeps {
        command.arg("--ledger").arg(folder.path().join("ledger"));
    }
    let mut running = Running::start(command, folder).await?;
    running.target.trust = certificate.map(tls::trust).transpose()?;
    Ok(running)
}

impl Running {
    /// The folder of its data file.
    pub(crate) fn data(&self) -> PathBuf {
        self.folder.path().join("data")
    }

    async fn start(mut command: Command, folder: TempDir) -> anyhow::Result<Self> {
        let name = command.as_std().get_program().to_owned();
        let log = folder.path().join("log");
        let mut child = command
            // Held open: a baseline ends when this program does, however that ends.
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(File::create(&log).context("cannot write a log")?)
            .kill_on_drop(true)
            .spawn()
            .with_context(|| format!("cannot start {}", name.display()))?;
        let mut output = BufReader::new(child.stdout.take().context("the output is piped")?);
        let greeting = match timeout(START_PATIENCE, read_greeting(&mut output)).await {
            Ok(Ok(greeting)) => greeting,
            Ok(Err(error)) => return Err(with_log(error, &name, &log)),
            Err(_) => {
                let late = anyhow::anyhow!("it did not say where it listens within 20 s");
                return Err(with_log(late, &name, &log));
            }
        };
        // Read on, so that the process never waits for room in the pipe.
        tokio::spawn(async move { tokio::io::copy(&mut output, &mut tokio::io::sink()).await });
        let Greeting { address, key } = greeting;
        let target = Target { address, key, pid: child.id(), trust: None };
        Ok(Self { target, child: Some(child), folder })
    }

    /// Ends the process and waits until it is gone, so that the next has the machine to itself.
    pub(crate) async fn end(mut self) -> anyhow::Result<()> {
        if let Some(child) = &mut self.child {
            child.kill().await.context("cannot end a process that was started here")?;
        }
        self.folder.close().context("cannot remove a temporary folder")
    }
}

/// Reads the address and the key, in any order among other lines.
async fn read_greeting(output: impl AsyncBufRead + Unpin) -> anyhow::Result<Greeting> {
    let (mut address, mut key) = (None, None::<HostKey>);
    let mut lines = output.lines();
    while let Some(line) = lines.next_line().await? {
        let Some((label, value)) = line.split_once(char::is_whitespace) else { continue };
        let value = value.trim();
        let unclear = || format!("it wrote the {label} `{value}`, which cannot be read");
        match label {
            "address" => address = Some(value.parse().with_context(unclear)?),
            "key" => key = Some(value.parse().context("it wrote a key that cannot be read")?),
            _ => {}
        }
        if let (Some(address), Some(key)) = (address, &key) {
            return Ok(Greeting { address, key: key.clone() });
        }
    }
    bail!("it ended before it had written its address and its key")
}

/// The error, with the last lines that the process wrote.
fn with_log(error: anyhow::Error, name: &OsStr, log: &Path) -> anyhow::Error {
    let text = std::fs::read_to_string(log).unwrap_or_default();
    let lines: Vec<&str> = text.lines().collect();
    let tail = lines[lines.len().saturating_sub(10)..].join("\n");
    error.context(format!("{} did not start. Its last words:\n{tail}", name.display()))
}

/// Builds the program `myonym` with optimisation, beside this one.
async fn build() -> anyhow::Result<PathBuf> {
    let help = "start by `cargo run --release -p myonym-loadtest`, or give --server PATH";
    let cargo = std::env::var_os("CARGO").context(help)?;
    let manifest = std::env::var_os("CARGO_MANIFEST_DIR").context(help)?;
    let own = std::env::current_exe().context("cannot find this program's own file")?;
    // TARGET/release/myonym-loadtest
    let target = own.parent().and_then(Path::parent).context(help)?;
    let status = Command::new(cargo)
        .args(["build", "--release", "--package", "myonym", "--target-dir"])
        .arg(target)
        .current_dir(manifest)
        .stdin(Stdio::null())
        .status()
        .await
        .context("cannot run cargo")?;
    ensure!(status.success(), "the server does not build: see above, or give --server PATH");
    let name = format!("myonym{}", std::env::consts::EXE_SUFFIX);
    Ok(target.join("release").join(name))
}

#[cfg(test)]
mod tests {
    use super::*;

    async fn read(text: &str) -> anyhow::Result<Greeting> {
        read_greeting(text.as_bytes()).await
    }

    #[tokio::test]
    async fn the_greeting_is_read_among_other_lines() {
        let key = "0".repeat(32);
        let text = format!(
            "starting\naddress  127.0.0.1:7645\nlink\thttp://127.0.0.1:7645/\n\
             word     radius-talus\nkey      {key}\nmore\n"
        );
        let want = Greeting {
            address: SocketAddr::from(([127, 0, 0, 1], 7645)),
            key: key.parse().unwrap(),
        };
        assert_eq!(read(&text).await.unwrap(), want);
    }

    #[tokio::test]
    async fn a_greeting_that_lacks_something_is_an_error() {
        for (text, why) in [
            ("", "ended before"),
            ("address 127.0.0.1:1\n", "ended before"),
            ("address here\n", "`here`"),
            ("key 12\n", "a key that cannot be read"),
        ] {
            let error = format!("{:#}", read(text).await.unwrap_err());
            assert!(error.contains(why), "{text}: {error}");
        }
    }

    #[tokio::test]
    async fn a_program_that_does_not_start_is_an_error() {
        let choice = ServerChoice::Program("/no/such/program".into());
        assert!(Source::prepare(&choice).await.is_err());
    }
}
