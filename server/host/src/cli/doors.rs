//! Options of `host` that say how it is reached.

use std::net::IpAddr;
use std::path::PathBuf;

use clap::Args;
use ipnet::IpNet;
use myonym_wire::JoinLink;

/// How a host is reached over the internet.
#[derive(Debug, Args)]
pub(crate) struct DoorArgs {
    /// Encrypt connections; without --certificate with a self-made certificate, which is kept.
    #[arg(long)]
    pub(crate) tls: bool,
    /// The server's certificate, and those of its issuers behind it (PEM).
    #[arg(long, value_name = "FILE", requires = "tls", requires = "private_key")]
    pub(crate) certificate: Option<PathBuf>,
    /// The private key of the certificate (PEM, without a passphrase).
    #[arg(long, value_name = "FILE", requires = "certificate")]
    pub(crate) private_key: Option<PathBuf>,
    /// Believe the X-Forwarded headers of a proxy on this machine, or at these addresses or
    /// networks, such as 10.0.0.2,172.18.0.0/16.
    #[arg(
        long, value_name = "NETWORKS", num_args = 0.., require_equals = true, value_delimiter = ',',
        value_parser = parse_network
    )]
    pub(crate) behind_proxy: Option<Vec<IpNet>>,
    /// The address that students are told, such as `https://reviews.example/`.
    #[arg(long, value_name = "LINK", value_parser = parse_public_link)]
    pub(crate) public_link: Option<JoinLink>,
}

fn parse_network(text: &str) -> Result<IpNet, String> {
    let alone = || text.parse::<IpAddr>().map(IpNet::from);
    text.parse().or_else(|_not_a_network: ipnet::AddrParseError| alone()).map_err(|_fault| {
        format!("{text} is no address or network; write 10.0.0.2 or 172.18.0.0/16")
    })
}

/// The server's own pages and sockets stand at fixed paths, so the link cannot have one.
fn parse_public_link(text: &str) -> Result<JoinLink, String> {
    let link: JoinLink = text.parse().map_err(|bad: myonym_wire::BadLink| bad.to_string())?;
    let bare = text.trim().trim_end_matches('/').to_ascii_lowercase();
    let wanted = JoinLink { word: None, ..link.clone() }.to_string().to_ascii_lowercase();
    if bare == wanted.trim_end_matches('/') {
        Ok(link)
    } else {
        Err("it is a scheme, a host and perhaps a port, such as https://reviews.example/"
            .to_owned())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_public_link_is_an_origin() {
        let check = |text: &str, want: Option<&str>| {
            let got = parse_public_link(text).ok().map(|link| link.to_string());
            assert_eq!(got.as_deref(), want, "{text}");
        };
        check("https://reviews.example/", Some("https://reviews.example/"));
        check("HTTPS://reviews.example", Some("https://reviews.example/"));
        check("http://192.0.2.7:8080", Some("http://192.0.2.7:8080/"));
        check("reviews.example", None);
        check("https://reviews.example/myonym/", None);
        check("https://reviews.example/?word=radius-talus", None);
        check("ftp://reviews.example/", None);
        check("", None);
    }

    #[test]
    fn networks_are_read_with_and_without_a_length() {
        let check = |text: &str, want: Option<&str>| {
            let got = parse_network(text).ok().map(|network| network.to_string());
            assert_eq!(got.as_deref(), want, "{text}");
        };
        check("10.0.0.2", Some("10.0.0.2/32"));
        check("172.18.0.0/16", Some("172.18.0.0/16"));
        check("2001:db8::/32", Some("2001:db8::/32"));
        check("proxy.example", None);
        check("10.0.0.0/33", None);
    }
}
