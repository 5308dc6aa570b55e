//! Who asks, and by which address: what a reverse proxy says of it, where one is trusted.
//!
//! Anyone can write `X-Forwarded-` headers, so they are read only with `--behind-proxy`, and only
//! on connections from this machine or from a network that was named as the proxy's.

use std::net::{IpAddr, SocketAddr};

use axum::http::{HeaderMap, HeaderName, header};
use ipnet::IpNet;
use myonym_wire::JoinLink;

use crate::reach::Reach;

const FORWARDED_FOR: HeaderName = HeaderName::from_static("x-forwarded-for");
const FORWARDED_HOST: HeaderName = HeaderName::from_static("x-forwarded-host");
const FORWARDED_PROTO: HeaderName = HeaderName::from_static("x-forwarded-proto");

/// How the server looks from outside, through one of its doors.
#[derive(Debug, Clone, Default)]
pub(crate) struct Site {
    /// The address that is told to students in place of the server's own.
    pub(crate) public: Option<JoinLink>,
    /// Set where the server is behind a proxy: networks that it may be in, besides this machine.
    pub(crate) proxies: Option<Vec<IpNet>>,
    /// Whether this door speaks TLS itself.
    pub(crate) secure: bool,
}

/// Who asks for something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Caller {
    /// Whom limits are held against.
    pub(crate) address: IpAddr,
    /// The host (and port) that was asked.
    host: Option<String>,
    /// Whether by TLS, as far as that can be known.
    secure: Option<bool>,
    /// Whether a proxy that is trusted spoke for the caller.
    is_forwarded: bool,
}

impl Site {
    /// Who asks, by the address of the connection and the headers of the request.
    pub(crate) fn caller(&self, peer: IpAddr, headers: &HeaderMap) -> Caller {
        // One that listens on IPv6 may see IPv4 in its disguise.
        let peer = peer.to_canonical();
        let host = headers.get(header::HOST).and_then(|host| host.to_str().ok());
        let host = host.map(str::to_owned);
        let secure = self.secure.then_some(true);
        let plain = Caller { address: peer, host, secure, is_forwarded: false };
        if !self.trusts(peer) {
            return plain;
        }
        let client = last(headers, &FORWARDED_FOR).and_then(address);
        let host = last(headers, &FORWARDED_HOST).filter(|host| is_host(host)).map(str::to_owned);
        let secure = last(headers, &FORWARDED_PROTO).and_then(is_secure);
        Caller {
            is_forwarded: client.is_some() || host.is_some() || secure.is_some(),
            address: client.unwrap_or(peer),
            host: host.or(plain.host),
            secure: secure.or(plain.secure),
        }
    }

    /// Whether a page of this origin (RFC 6454) is one of our own.
    pub(crate) fn is_own(&self, origin: &str, caller: &Caller) -> bool {
        let Some((scheme, authority)) = origin.split_once("://") else { return false };
        let secure = scheme.eq_ignore_ascii_case("https");
        let is = |host: &str| bare(authority, secure).eq_ignore_ascii_case(bare(host, secure));
        let is_public = |link: &JoinLink| link.secure == secure && is(&link.address);
        self.public.as_ref().is_some_and(is_public)
            || caller.host.as_deref().is_some_and(is)
                && caller.secure.is_none_or(|known| known == secure)
    }

    /// How a caller reached the server, where that is another way than students are told and they
    /// may take it as well.
    pub(crate) fn reach(&self, caller: &Caller) -> Option<Reach> {
        let by_proxy = caller.is_forwarded && self.public.is_none();
        let host = caller.host.clone().filter(|host| by_proxy && is_host(host))?;
        Some(Reach { addresses: vec![host], secure: caller.secure? })
    }

    fn trusts(&self, peer: IpAddr) -> bool {
        let Some(proxies) = &self.proxies else { return false };
        peer.is_loopback() || proxies.iter().any(|network| network.contains(&peer))
    }
}

/// The last entry of a list: what comes before it, the proxy was only told.
fn last<'a>(headers: &'a HeaderMap, name: &HeaderName) -> Option<&'a str> {
    let list = headers.get_all(name).iter().next_back()?.to_str().ok()?;
    list.rsplit(',').next().map(str::trim).filter(|entry| !entry.is_empty())
}

/// Some proxies add the port, and brackets about an IPv6 address.
fn address(entry: &str) -> Option<IpAddr> {
    let bare = entry.strip_prefix('[').and_then(|entry| entry.strip_suffix(']')).unwrap_or(entry);
    let with_port = || entry.parse::<SocketAddr>().ok().map(|address| address.ip());
    bare.parse().ok().or_else(with_port).map(|address: IpAddr| address.to_canonical())
}

fn is_host(host: &str) -> bool {
    host.parse::<JoinLink>().is_ok_and(|link| link.address == host)
}

fn is_secure(scheme: &str) -> Option<bool> {
    match scheme.to_ascii_lowercase().as_str() {
        "https" | "wss" => Some(true),
        "http" | "ws" => Some(false),
        _ => None,
    }
}

/// Without the port that the scheme has by itself, which browsers leave out.
fn bare(authority: &str, secure: bool) -> &str {
    authority.strip_suffix(if secure { ":443" } else { ":80" }).unwrap_or(authority)
}

#[cfg(test)]
mod tests {
    use super::*;

    const HERE: IpAddr = IpAddr::V4(std::net::Ipv4Addr::LOCALHOST);

    fn headers(list: &[(&'static str, &str)]) -> HeaderMap {
        list.iter().map(|(n, v)| (HeaderName::from_static(n), v.parse().unwrap())).collect()
    }

    fn behind(networks: &[&str]) -> Site {
        let networks = networks.iter().map(|network| network.parse().unwrap()).collect();
        Site { proxies: Some(networks), ..Site::default() }
    }

    #[test]
    fn the_address_is_the_last_that_a_trusted_proxy_added() {
        let check = |site: &Site, peer: &str, forwarded: &str, want: &str| {
            let headers = headers(&[("x-forwarded-for", forwarded)]);
            let got = site.caller(peer.parse().unwrap(), &headers).address;
            assert_eq!(got, want.parse::<IpAddr>().unwrap(), "{peer} {forwarded}");
        };
        let site = behind(&["10.1.0.0/16"]);
        check(&site, "127.0.0.1", "192.0.2.7", "192.0.2.7");
        check(&site, "::1", "203.0.113.9, 192.0.2.7", "192.0.2.7");
        check(&site, "10.1.2.3", "192.0.2.7", "192.0.2.7");
        check(&site, "::ffff:10.1.2.3", "192.0.2.7", "192.0.2.7");
        check(&site, "127.0.0.1", "2001:db8::7", "2001:db8::7");
        check(&site, "127.0.0.1", "[2001:db8::7]", "2001:db8::7");
        check(&site, "127.0.0.1", "[2001:db8::7]:4711", "2001:db8::7");
        check(&site, "127.0.0.1", "192.0.2.7:4711", "192.0.2.7");
        check(&site, "127.0.0.1", "192.0.2.7, unknown", "127.0.0.1");
        // Not a proxy that was named.
        check(&site, "10.2.0.1", "192.0.2.7", "10.2.0.1");
        check(&behind(&[]), "10.1.2.3", "192.0.2.7", "10.1.2.3");
        check(&Site::default(), "127.0.0.1", "192.0.2.7", "127.0.0.1");
        let mut twice = HeaderMap::new();
        twice.append(FORWARDED_FOR, "192.0.2.8".parse().unwrap());
        twice.append(FORWARDED_FOR, "192.0.2.7".parse().unwrap());
        assert_eq!(site.caller(HERE, &twice).address, IpAddr::from([192, 0, 2, 7]));
    }

    /// RFC 6454 section 5: the same scheme, host and port; RFC 9110 section 4.2: the usual port may
    /// be left out.
    #[test]
    fn an_origin_is_own_if_scheme_host_and_port_are() {
        let check = |site: &Site, list: &[(&'static str, &str)], origin: &str, want: bool| {
            let caller = site.caller(HERE, &headers(list));
            assert_eq!(site.is_own(origin, &caller), want, "{list:?} {origin}");
        };
        let plain = Site::default();
        check(&plain, &[("host", "192.0.2.7:7645")], "http://192.0.2.7:7645", true);
        check(&plain, &[("host", "LAB.example")], "http://lab.example", true);
        check(&plain, &[("host", "lab.example:80")], "http://lab.example", true);
        check(&plain, &[("host", "lab.example:81")], "http://lab.example", false);
        check(&plain, &[("host", "lab.example")], "null", false);
        check(&plain, &[], "http://lab.example", false);
        let secure = Site { secure: true, ..Site::default() };
        check(&secure, &[("host", "lab.example:443")], "https://lab.example", true);
        check(&secure, &[("host", "lab.example")], "http://lab.example", false);

        let forwarded = [
            ("host", "127.0.0.1:7645"),
            ("x-forwarded-host", "lab.example"),
            ("x-forwarded-proto", "https"),
        ];
        check(&behind(&[]), &forwarded, "https://lab.example", true);
        check(&behind(&[]), &forwarded, "http://lab.example", false);
        check(&behind(&[]), &forwarded, "https://127.0.0.1:7645", false);
        check(&plain, &forwarded, "https://lab.example", false);

        let public = Some("https://lab.example".parse().unwrap());
        let public = Site { public, ..Site::default() };
        check(&public, &[("host", "127.0.0.1:7645")], "https://lab.example", true);
        check(&public, &[("host", "127.0.0.1:7645")], "http://lab.example", false);
        check(&public, &[("host", "192.0.2.7:7645")], "http://192.0.2.7:7645", true);
        check(&public, &[("host", "127.0.0.1:7645")], "https://elsewhere.example", false);
    }

    #[test]
    fn a_way_through_a_proxy_is_told_to_who_came_by_it() {
        let reach = |site: &Site, list: &[(&'static str, &str)]| {
            let reach = site.reach(&site.caller(HERE, &headers(list)));
            reach.map(|reach| (reach.addresses.join(" "), reach.secure))
        };
        let lab = Some(("lab.example".to_owned(), true));
        let list = [("host", "lab.example"), ("x-forwarded-proto", "https")];
        assert_eq!(reach(&behind(&[]), &list), lab);
        let list = [("x-forwarded-host", "lab.example"), ("x-forwarded-proto", "https")];
        assert_eq!(reach(&behind(&[]), &list), lab);
        assert_eq!(reach(&Site::default(), &list), None);
        let public = Some("https://reviews.example".parse().unwrap());
        assert_eq!(reach(&Site { public, ..behind(&[]) }, &list), None);
        let odd = [("x-forwarded-host", "lab.example/?x"), ("x-forwarded-proto", "https")];
        assert_eq!(reach(&behind(&[]), &odd), None);
        assert_eq!(reach(&behind(&[]), &[("host", "127.0.0.1:7645")]), None);
    }
}
