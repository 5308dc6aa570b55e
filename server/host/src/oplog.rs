//! What the operations log tells, and what it must not.
//!
//! It tells that someone came, went or was refused, and why: never a token, a key, a name, or what
//! was typed. An address is cut to its network, which is enough to tell one school from another.

use std::net::IpAddr;

use clap::ValueEnum;
use ipnet::IpNet;
use tracing::info;
use tracing_subscriber::EnvFilter;

use crate::metrics::{COUNTS, Limit};

/// How the lines of the log look.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub(crate) enum Format {
    /// A line to read.
    #[default]
    Text,
    /// A JSON object a line, for programs.
    Json,
}

/// From which weight on lines are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Level {
    /// Nothing.
    Off,
    /// What went wrong.
    Error,
    /// What may go wrong.
    Warn,
    /// Who came and went, and limits that were reached.
    Info,
    /// Every refusal as well.
    Debug,
    /// Everything.
    Trace,
}

/// Starts the log. It goes to standard error, and only where the program runs as a service or it is
/// asked for, by `level` or by `MYONYM_LOG`: it would ruin a screen.
///
/// `level` is of our own lines alone. What libraries would tell at `trace` may hold what was said
/// by whom, so that is for `MYONYM_LOG` in the hands of a developer.
pub(crate) fn start(format: Format, level: Option<Level>, is_service: bool) {
    let own = |level: &str| EnvFilter::new(format!("myonym={level}"));
    let filter = match level {
        Some(level) => own(level.as_str()),
        None => EnvFilter::try_from_env("MYONYM_LOG")
            .unwrap_or_else(|_| own(if is_service { "info" } else { "off" })),
    };
    let lines = tracing_subscriber::fmt().with_env_filter(filter).with_writer(std::io::stderr);
    match format {
        Format::Text => lines.init(),
        Format::Json => lines.json().flatten_event(true).init(),
    }
}

impl Level {
    fn as_str(self) -> &'static str {
        match self {
            Self::Off => "off",
            Self::Error => "error",
            Self::Warn => "warn",
            Self::Info => "info",
            Self::Debug => "debug",
            Self::Trace => "trace",
        }
    }
}

/// Counts that a limit was reached, and says so.
pub(crate) fn reached(limit: Limit, from: IpAddr) {
    COUNTS.limits.one(limit);
    info!(limit = limit.as_str(), from = %network(from), "limit reached");
}

/// The network of an address: so many bits that it may be any of 256 households, or of one site.
pub(crate) fn network(address: IpAddr) -> IpNet {
    let address = address.to_canonical();
    let bits = if address.is_ipv4() { 24 } else { 48 };
    IpNet::new(address, bits).map_or_else(|_| IpNet::from(address), |network| network.trunc())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 5737 and RFC 3849: addresses for documentation.
    #[test]
    fn addresses_are_cut_to_their_network() {
        let check = |address: &str, want: &str| {
            assert_eq!(network(address.parse().unwrap()).to_string(), want);
        };
        check("192.0.2.77", "192.0.2.0/24");
        check("::ffff:192.0.2.77", "192.0.2.0/24");
        check("2001:db8:1:2:3:4:5:6", "2001:db8:1::/48");
        check("127.0.0.1", "127.0.0.0/24");
    }
}
