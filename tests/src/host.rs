//! A real host in a process of its own.

use std::fs::{self, File};
use std::net::{IpAddr, Ipv4Addr, SocketAddr, TcpListener};
use std::path::{Path, PathBuf};
use std::process::Stdio;
use std::sync::atomic::{AtomicU16, Ordering};

use anyhow::{Context as _, Result, bail, ensure};
use rusqlite::Connection;
use tempfile::TempDir;
use tokio::io::{AsyncBufReadExt as _, BufReader, Lines};
use tokio::process::{Child, ChildStdout, Command};
use tokio::time::timeout;

use crate::{DEADLINE, Log, Program};

/// A host that runs without a screen on a port and a data folder of its own. Dropping it ends it.
#[derive(Debug)]
pub struct TestHost {
    child: Child,
    folder: TempDir,
    manner: Manner,
    /// Where it listens.
    pub address: SocketAddr,
    /// The join word of its review; empty where it takes study groups alone.
    pub word: String,
    /// Its key, printed at the first start only.
    pub key: String,
    /// The link that students are given.
    pub link: String,
    /// The fingerprint of its certificate; empty without TLS.
    pub fingerprint: String,
}

/// A data file that nobody can write to.
#[derive(Debug)]
pub struct HeldDisk {
    _transaction: Connection,
}

/// How a host is started.
#[derive(Debug)]
struct Manner {
    program: PathBuf,
    options: Vec<String>,
    environment: Vec<(String, String)>,
    /// The network namespace that it runs in, if not that of the test.
    namespace: Option<String>,
    address: IpAddr,
}

/// What a host prints of itself.
struct Printed {
    address: SocketAddr,
    word: String,
    key: String,
    link: String,
    fingerprint: String,
}

impl TestHost {
    /// Starts a host on any free port with further options of `myonym host`.
    pub async fn start(options: &[&str]) -> Result<Self> {
        Self::start_in(new_folder()?, options).await
    }

    /// Starts a host for the first time in a folder that may hold something: its data folder is
    /// `data` in it.
    pub async fn start_in(folder: TempDir, options: &[&str]) -> Result<Self> {
        Self::begin(folder, options, 0).await
    }

    /// Starts a host that [`Self::restart`] can start again on the same port: one from below the
    /// range that the system hands to outgoing connections, so that none of them takes it in
    /// between.
    pub async fn start_to_be_restarted(options: &[&str]) -> Result<Self> {
        Self::begin(new_folder()?, options, free_port()?).await
    }

    /// The same, in a folder that may hold something.
    pub async fn start_in_to_be_restarted(folder: TempDir, options: &[&str]) -> Result<Self> {
        Self::begin(folder, options, free_port()?).await
    }

    /// From its next start on another program is the host.
    pub fn run_by(&mut self, program: &Path) {
        program.clone_into(&mut self.manner.program);
    }

    /// From its next start on it has these variables in its environment, beside those of the test.
    pub fn run_with(&mut self, environment: &[(&str, &str)]) {
        let owned = |(name, value): &(&str, &str)| ((*name).to_owned(), (*value).to_owned());
        self.manner.environment = environment.iter().map(owned).collect();
    }

    /// Starts a host in a folder whose `data` holds what another host wrote; its key was printed
    /// then.
    pub async fn start_from(folder: TempDir, key: String, options: &[&str]) -> Result<Self> {
        let manner = Manner::of(options)?;
        let (child, printed) = launch(folder.path(), &manner, 0).await?;
        let Printed { address, word, link, fingerprint, .. } = printed;
        Ok(Self { child, folder, manner, address, word, key, link, fingerprint })
    }

    /// Starts a host in a network namespace, on an address there; takes root and `ip` (iproute2).
    pub async fn start_in_namespace(
        namespace: &str,
        address: IpAddr,
        options: &[&str],
    ) -> Result<Self> {
        let manner = Manner::of(options)?;
        let manner = Manner { namespace: Some(namespace.to_owned()), address, ..manner };
        Self::begin_in(new_folder()?, manner, 0).await
    }

    async fn begin(folder: TempDir, options: &[&str], port: u16) -> Result<Self> {
        Self::begin_in(folder, Manner::of(options)?, port).await
    }

    async fn begin_in(folder: TempDir, manner: Manner, port: u16) -> Result<Self> {
        let (child, printed) = launch(folder.path(), &manner, port).await?;
        let Printed { address, word, key, link, fingerprint } = printed;
        ensure!(is_key(&key), "no key printed at the first start: {key}");
        Ok(Self { child, folder, manner, address, word, key, link, fingerprint })
    }

    /// The id of its process; `None` once it has ended.
    pub fn process(&self) -> Option<u32> {
        self.child.id()
    }

    /// The data folder.
    pub fn data(&self) -> PathBuf {
        self.folder.path().join("data")
    }

    /// Ends the host as `kill -9` or a power cut would: it can do nothing about it.
    pub async fn kill9(&mut self) -> Result<()> {
        self.child.kill().await.context("cannot kill the host")
    }

    /// Asks the host to stop, as a service manager does, and waits until it has.
    pub async fn stop(&mut self) -> Result<()> {
        self.signal("TERM").await?;
        let ended = timeout(DEADLINE, self.child.wait()).await.context("the host does not stop")?;
        ensure!(ended?.success(), "the host stopped with a fault");
        Ok(())
    }

    /// Sends the host a signal, by its name.
    pub async fn signal(&self, name: &str) -> Result<()> {
        let id = self.child.id().context("the host has ended before")?;
        let sent = Command::new("kill").args([&format!("-{name}"), &id.to_string()]).status();
        ensure!(sent.await?.success(), "cannot send {name} to the host");
        Ok(())
    }

    /// Starts it again on the same port and data. Its key and join word must still be what they
    /// were, and the key is not printed again.
    pub async fn restart(&mut self) -> Result<()> {
        let port = self.address.port();
        let (child, printed) = launch(self.folder.path(), &self.manner, port).await?;
        self.child = child;
        ensure!(printed.address == self.address, "it listens elsewhere: {}", printed.address);
        ensure!(printed.word == self.word, "the join word changed to {}", printed.word);
        ensure!(!is_key(&printed.key), "the key was printed again");
        self.fingerprint = printed.fingerprint;
        Ok(())
    }

    /// What the log holds now.
    pub fn log(&self) -> Result<Log> {
        Log::read(&self.data())
    }

    /// Keeps anyone from writing to the data file until what it gives is dropped: a disk that hangs.
    pub fn hold_disk(&self) -> Result<HeldDisk> {
        let file = Connection::open(self.data().join("myonym.sqlite"))?;
        file.busy_timeout(DEADLINE)?;
        file.execute_batch("BEGIN IMMEDIATE")?;
        Ok(HeldDisk { _transaction: file })
    }

    /// All that the host has written into its operations log.
    pub fn operations_log(&self) -> Result<String> {
        Ok(fs::read_to_string(operations_log(self.folder.path()))?)
    }

    /// Fails if the host's operations log tells of an error or a panic.
    pub fn is_sound(&self) -> Result<()> {
        let said = self.operations_log()?;
        let bad = |line: &&str| line.contains("ERROR") || line.contains("panicked");
        match said.lines().find(bad) {
            Some(line) => bail!("the host complains: {line}"),
            None => Ok(()),
        }
    }
}

fn new_folder() -> Result<TempDir> {
    Ok(TempDir::with_prefix("myonym-test-")?)
}

impl Manner {
    /// The program that was built, with these options of `myonym host`.
    fn of(options: &[&str]) -> Result<Self> {
        let options = options.iter().map(ToString::to_string).collect();
        Ok(Self {
            program: Program::built()?.host.clone(),
            options,
            environment: Vec::new(),
            namespace: None,
            address: Ipv4Addr::LOCALHOST.into(),
        })
    }
}

impl Manner {
    /// The program, in its namespace: `ip` becomes the program, so it is still our child.
    fn command(&self) -> Command {
        let Some(namespace) = &self.namespace else { return Command::new(&self.program) };
        let mut command = Command::new("ip");
        command.args(["netns", "exec", namespace]).arg(&self.program);
        command
    }
}

async fn launch(folder: &Path, manner: &Manner, port: u16) -> Result<(Child, Printed)> {
    let path = operations_log(folder);
    let log = File::options().create(true).append(true).open(&path)?;
    let mut child = manner
        .command()
        .args(["host", "--headless", "--port", &port.to_string()])
        .args(["--address", &manner.address.to_string()])
        .arg("--data")
        .arg(folder.join("data"))
        .args(&manner.options)
        .envs(manner.environment.iter().map(|(name, value)| (name, value)))
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(log)
        .kill_on_drop(true)
        .spawn()?;
    let out = child.stdout.take().context("no standard output")?;
    let mut lines = BufReader::new(out).lines();
    let printed = timeout(DEADLINE, printed(&mut lines, &manner.options))
        .await
        .context("the host does not start")?;
    let printed = printed.with_context(|| fs::read_to_string(&path).unwrap_or_default())?;
    // Kept open: a host that still has something to say must not find its output closed.
    child.stdout = Some(lines.into_inner().into_inner());
    Ok((child, printed))
}

/// Reads the labelled lines up to the key, which is the last.
async fn printed(lines: &mut Lines<BufReader<ChildStdout>>, options: &[String]) -> Result<Printed> {
    let mut read = async |label: &str| {
        let line = lines.next_line().await?.context("the host ended at its start")?;
        let value = line.strip_prefix(label).with_context(|| format!("no {label} but {line}"))?;
        Ok::<_, anyhow::Error>(value.trim().to_owned())
    };
    let address: SocketAddr = read("address").await?.parse()?;
    let has = |option: &str| options.iter().any(|given| given == option);
    let (mut link, mut word) = (String::new(), String::new());
    if !has("--study-groups-only") {
        link = read("link").await?;
        word = read("word").await?;
        read("board").await?;
    }
    read("desk").await?;
    let fingerprint = if has("--tls") { read("fingerprint").await? } else { String::new() };
    let key = read("key").await?;
    let scheme = if has("--tls") { "https" } else { "http" };
    let own = format!("{scheme}://{address}/?word={word}");
    let elsewhere = has("--public-link") || has("--study-groups-only");
    ensure!(link == own || elsewhere, "the link is {link}");
    Ok(Printed { address, word, key, link, fingerprint })
}

fn operations_log(folder: &Path) -> PathBuf {
    folder.join("operations.log")
}

fn is_key(text: &str) -> bool {
    text.len() == 32 && text.bytes().all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b))
}

/// A free port below 32768, where common systems begin to number outgoing connections; another one
/// each time, as tests run side by side.
fn free_port() -> Result<u16> {
    static TRIED: AtomicU16 = AtomicU16::new(0);
    // Processes that run at once have ids close together; each begins a good way from the next.
    let first = 20_000 + u16::try_from(std::process::id().wrapping_mul(97) % 12_000)?;
    let further = || first.checked_add(TRIED.fetch_add(1, Ordering::Relaxed));
    std::iter::repeat_with(further)
        .map_while(|port| port.filter(|port| *port < 32_768))
        .find(|port| TcpListener::bind((Ipv4Addr::LOCALHOST, *port)).is_ok())
        .context("no free port")
}
