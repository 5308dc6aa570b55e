//! One start, watched from outside.

use std::net::SocketAddr;
use std::process::Stdio;
use std::time::{Duration, Instant};

use anyhow::{Context, bail, ensure};
use tokio::io::{AsyncBufRead, AsyncBufReadExt, AsyncReadExt, AsyncWriteExt, BufReader};
use tokio::net::TcpStream;
use tokio::process::Command;
use tokio::time::timeout;

/// Longest wait for a process to be ready.
const PATIENCE: Duration = Duration::from_secs(20);

/// When a process is taken for ready.
#[derive(Debug, Clone, Copy)]
pub(super) enum Ready {
    /// When it has written where it listens.
    Listening,
    /// When it has also answered there that it is well.
    Healthy,
}

/// Starts a process, waits until it is ready, and ends it: the time from before it was made.
pub(super) async fn start(mut command: Command, when: Ready) -> anyhow::Result<Duration> {
    let name = command.as_std().get_program().to_owned();
    let began = Instant::now();
    let mut child = command
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .kill_on_drop(true)
        .spawn()
        .with_context(|| format!("cannot start {}", name.display()))?;
    let output = BufReader::new(child.stdout.take().context("the output is piped")?);
    let wait = async {
        let address = listening(output).await?;
        match when {
            Ready::Listening => Ok(()),
            Ready::Healthy => healthy(address).await,
        }
    };
    let waited = timeout(PATIENCE, wait).await.context("it was not ready within 20 s")?;
    let ready = began.elapsed();
    waited.with_context(|| format!("{} did not start", name.display()))?;
    child.kill().await.context("cannot end a process that was started here")?;
    Ok(ready)
}

/// Reads on to the line that says where it listens.
async fn listening(output: impl AsyncBufRead + Unpin) -> anyhow::Result<SocketAddr> {
    let mut lines = output.lines();
    while let Some(line) = lines.next_line().await? {
        if let Some(address) = line.strip_prefix("address") {
            return address.trim().parse().context("its address cannot be read");
        }
    }
    bail!("it ended before it had written where it listens")
}

async fn healthy(address: SocketAddr) -> anyhow::Result<()> {
    let mut stream = TcpStream::connect(address).await.context("it does not listen")?;
    let ask = format!("GET /healthz HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n\r\n");
    stream.write_all(ask.as_bytes()).await?;
    let mut told = [0; 12];
    stream.read_exact(&mut told).await.context("it closed the connection")?;
    let told = String::from_utf8_lossy(&told);
    ensure!(told == "HTTP/1.1 200", "asked whether it is well, it answered {told:?}");
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn the_address_is_read_among_other_lines() {
        let text = "review taken up\naddress  127.0.0.1:7645\nword radius-talus\n";
        let found = listening(text.as_bytes()).await.unwrap();
        assert_eq!(found, SocketAddr::from(([127, 0, 0, 1], 7645)));
        assert!(listening("word radius-talus\n".as_bytes()).await.is_err());
        assert!(listening("address nowhere\n".as_bytes()).await.is_err());
    }

    #[tokio::test]
    async fn a_process_that_says_nothing_is_not_ready() {
        let mut command = Command::new(std::env::current_exe().unwrap());
        command.arg("--no-such-option");
        assert!(start(command, Ready::Listening).await.is_err());
    }
}
