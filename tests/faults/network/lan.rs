//! A network of its own: a host in one network namespace, its class in another, and a link between them
//! that can be broken. It takes root, `ip` (iproute2) and `nft` (nftables); nothing outside the two
//! namespaces is touched, and they are gone when the network is dropped.

use std::net::{IpAddr, Ipv4Addr};
use std::process::Stdio;
use std::sync::atomic::{AtomicU32, Ordering};

use anyhow::{Context as _, Result, ensure};
use myonym_tests::TestHost;
use tokio::process::Command;

/// Where the host is, in its own namespace. RFC 1918 addresses; no other namespace sees them.
const HOST: IpAddr = IpAddr::V4(Ipv4Addr::new(10, 77, 0, 1));

/// Two namespaces and what joins them.
#[derive(Debug)]
pub(crate) struct Lan {
    /// Name of the host's namespace.
    pub(crate) of_host: String,
    /// Name of the class's namespace.
    pub(crate) of_class: String,
    mine: bool,
}

impl Lan {
    /// Makes one.
    ///
    /// # Errors
    /// This machine does not allow it, and why.
    pub(crate) async fn lay() -> Result<Self> {
        static LAID: AtomicU32 = AtomicU32::new(0);
        let (process, number) = (std::process::id(), LAID.fetch_add(1, Ordering::Relaxed));
        let name = |side| format!("myonym-{process}-{number}-{side}");
        let lan = Self { of_host: name("host"), of_class: name("class"), mine: true };
        let Self { of_host, of_class, .. } = &lan;
        ip(&["netns", "add", of_host]).await?;
        ip(&["netns", "add", of_class]).await?;
        let link = ["link", "add", "lan", "netns", of_host, "type", "veth"];
        ip(&[&link[..], &["peer", "name", "lan", "netns", of_class]].concat()).await?;
        for (side, address) in [(of_host, "10.77.0.1/24"), (of_class, "10.77.0.2/24")] {
            ip(&["-n", side, "addr", "add", address, "dev", "lan"]).await?;
            ip(&["-n", side, "link", "set", "lo", "up"]).await?;
            ip(&["-n", side, "link", "set", "lan", "up"]).await?;
            // Nothing is dropped by it yet, but it tells whether anything can be.
            in_namespace(side, "nft", &["add", "table", "inet", "loss"]).await?;
        }
        Ok(lan)
    }

    /// One that another process has laid.
    pub(crate) fn laid(of_host: &str, of_class: &str) -> Self {
        Self { of_host: of_host.to_owned(), of_class: of_class.to_owned(), mine: false }
    }

    /// Starts a host in its namespace.
    pub(crate) async fn host(&self, options: &[&str]) -> Result<TestHost> {
        TestHost::start_in_namespace(&self.of_host, HOST, options).await
    }

    /// Takes the link down or up, at the class's end, as leaving the range of a Wi-Fi does.
    pub(crate) async fn link(&self, up: bool) -> Result<()> {
        let state = if up { "up" } else { "down" };
        ip(&["-n", &self.of_class, "link", "set", "lan", state]).await
    }

    /// From now on so many of a hundred packets are lost, each way. Which ones the kernel draws.
    pub(crate) async fn lose(&self, percent: u8) -> Result<()> {
        let percent = percent.to_string();
        for side in [&self.of_host, &self.of_class] {
            let rules = format!(
                "flush table inet loss\n\
                 add chain inet loss come {{ type filter hook input priority 0; }}\n\
                 add rule inet loss come iif lan numgen random mod 100 < {percent} counter drop\n"
            );
            in_namespace(side, "nft", &[&rules]).await?;
        }
        Ok(())
    }

    /// How many packets that were.
    pub(crate) async fn lost(&self) -> Result<u64> {
        let mut lost = 0;
        for side in [&self.of_host, &self.of_class] {
            let rules = in_namespace(side, "nft", &["list", "table", "inet", "loss"]).await?;
            let count =
                rules.split_once("counter packets ").and_then(|(_, rest)| rest.split_once(' '));
            lost += count.context("no count of packets")?.0.parse::<u64>()?;
        }
        Ok(lost)
    }
}

impl Drop for Lan {
    fn drop(&mut self) {
        for name in [&self.of_host, &self.of_class].into_iter().filter(|_| self.mine) {
            let removed = std::process::Command::new("ip")
                .args(["netns", "del", name])
                .stderr(Stdio::null())
                .status();
            drop(removed);
        }
    }
}

async fn ip(arguments: &[&str]) -> Result<()> {
    run("ip", arguments).await.map(drop)
}

async fn in_namespace(name: &str, program: &str, arguments: &[&str]) -> Result<String> {
    run("ip", &[&["netns", "exec", name, program], arguments].concat()).await
}

async fn run(program: &str, arguments: &[&str]) -> Result<String> {
    let ran = Command::new(program).args(arguments).stdin(Stdio::null()).output().await;
    let ran = ran.with_context(|| format!("{program} cannot be run"))?;
    let said = String::from_utf8_lossy(&ran.stderr);
    ensure!(ran.status.success(), "{program} {}: {}", arguments.join(" "), said.trim());
    Ok(String::from_utf8(ran.stdout)?)
}
