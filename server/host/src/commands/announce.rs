//! How to join: addresses, link and QR code.

use std::net::{IpAddr, SocketAddr};

use qrcode::render::unicode::Dense1x2;
use qrcode::{EcLevel, QrCode};

/// Addresses at which students reach a server that listens on `bound`, the likeliest first.
pub(super) fn addresses(bound: SocketAddr) -> Vec<String> {
    if !bound.ip().is_unspecified() {
        return vec![bound.to_string()];
    }
    let mut found: Vec<IpAddr> = local_ip_address::local_ip().into_iter().collect();
    if let Ok(interfaces) = local_ip_address::list_afinet_netifas() {
        found.extend(interfaces.into_iter().map(|(_, address)| address));
    }
    let mut addresses: Vec<IpAddr> = Vec::new();
    for address in found {
        let reachable = !address.is_loopback() && address.is_ipv4() == bound.is_ipv4();
        if reachable && !addresses.contains(&address) {
            addresses.push(address);
        }
    }
    if addresses.is_empty() {
        // No network: the review still runs on this machine.
        addresses.push(if bound.is_ipv4() {
            IpAddr::from([127, 0, 0, 1])
        } else {
            IpAddr::from([0, 0, 0, 0, 0, 0, 0, 1])
        });
    }
    addresses.into_iter().map(|ip| SocketAddr::new(ip, bound.port()).to_string()).collect()
}

/// The address at which this machine reaches its own server.
pub(super) fn own_address(bound: SocketAddr) -> SocketAddr {
    let ip = match bound.ip() {
        IpAddr::V4(ip) if ip.is_unspecified() => IpAddr::from([127, 0, 0, 1]),
        IpAddr::V6(ip) if ip.is_unspecified() => IpAddr::from([0, 0, 0, 0, 0, 0, 0, 1]),
        ip @ (IpAddr::V4(_) | IpAddr::V6(_)) => ip,
    };
    SocketAddr::new(ip, bound.port())
}

/// A QR code as lines of half blocks, dark on light with its quiet zone; empty if the text is too
/// long for one.
pub(super) fn qr(text: &str) -> Vec<String> {
    QrCode::with_error_correction_level(text, EcLevel::L).map_or_else(
        |_| Vec::new(),
        |code| {
            code.render::<Dense1x2>()
                .dark_color(Dense1x2::Dark)
                .light_color(Dense1x2::Light)
                .build()
                .lines()
                .map(str::to_owned)
                .collect()
        },
    )
}
