//! The ways into a host, as its options have them: the one for students, and with TLS a second one
//! for this machine alone.

use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use anyhow::Context as _;
use myonym_play::Fingerprint;
use myonym_wire::JoinLink;
use tokio::net::TcpListener;
use tokio::sync::watch;
use tokio::task::JoinHandle;

use super::announce;
use crate::cli::{DoorArgs, HostArgs};
use crate::clock::{self, Clock};
use crate::connection::Gate;
use crate::http::{self, Connections, Door};
use crate::proxy::Site;
use crate::reach::Reach;
use crate::tls::{self, Pair, Tls};

/// The port where none is asked for.
const PORT: u16 = 7645;

/// Ways in, and what is to be told of them.
pub(super) struct Doors {
    doors: Vec<Door>,
    /// What is told of them.
    pub(super) signs: Signs,
}

/// What is told of the ways in.
#[derive(Debug)]
pub(super) struct Signs {
    /// Where it listens, as another machine would call it.
    pub(super) address: String,
    /// How students reach it.
    pub(super) reach: Reach,
    /// Where this machine reaches it, in the clear.
    pub(super) own: SocketAddr,
    /// What shakes hands, where TLS is spoken.
    pub(super) tls: Option<Arc<Tls>>,
    /// Set if the certificate is self-made: its file.
    pub(super) self_made: Option<PathBuf>,
    /// Whether a proxy may stand before it that nobody has told the name of.
    pub(super) is_behind_unnamed: bool,
}

/// Opens the ways in that the options ask for. `folder` holds a self-made certificate.
pub(super) fn open(args: &HostArgs, folder: &Path, clock: Clock) -> anyhow::Result<Doors> {
    let ways = &args.doors;
    let listener = bind(args.address, args.port, args.rehearse.is_some())?;
    let bound = listener.local_addr().context("the server's own address")?;
    let addresses = announce::addresses(bound);
    let (mut tls, mut self_made) = (None, None);
    if ways.tls {
        let pair;
        (pair, self_made) = self::pair(ways, &folder.join("tls"), &addresses)?;
        tls = Some(Arc::new(Tls::new(pair, clock.now())?));
    }
    let secure = tls.is_some();
    let site =
        Site { public: ways.public_link.clone(), proxies: ways.behind_proxy.clone(), secure };
    let mut doors = vec![Door { listener, tls: tls.clone(), site: site.clone() }];
    let mut own = announce::own_address(bound);
    // The console and simulated students of this machine need no encryption, and no certificate
    // that may change under them.
    if secure && !args.headless {
        let listener = http::bind(IpAddr::V4(Ipv4Addr::LOCALHOST), 0).context("no free port")?;
        own = listener.local_addr().context("the server's own address")?;
        doors.push(Door { listener, tls: None, site: Site { secure: false, ..site } });
    }
    let signs = Signs {
        address: addresses.first().cloned().unwrap_or_default(),
        reach: ways.public_link.as_ref().map_or(Reach { addresses, secure }, Reach::from),
        own,
        tls,
        self_made,
        is_behind_unnamed: ways.behind_proxy.is_some() && ways.public_link.is_none(),
    };
    Ok(Doors { doors, signs })
}

impl Doors {
    /// Lets connections in until the word to stop comes, or nobody is left to give it.
    pub(super) fn let_in(
        self,
        gate: &Arc<Gate>,
        stop: &watch::Sender<bool>,
    ) -> (Signs, Vec<JoinHandle<Connections>>) {
        let run = |door| {
            let mut stopped = stop.subscribe();
            tokio::spawn(http::run(door, gate.clone(), async move {
                let _ = stopped.wait_for(|stop| *stop).await;
            }))
        };
        (self.signs, self.doors.into_iter().map(run).collect())
    }
}

impl Signs {
    /// The server as this machine reaches it.
    pub(super) fn own_link(&self) -> JoinLink {
        JoinLink { address: self.own.to_string(), secure: false, word: None }
    }

    /// That of the certificate that is shown now.
    pub(super) fn fingerprint(&self) -> Option<Fingerprint> {
        self.tls.as_ref()?.fingerprint()
    }

    /// What the instructor should know before students come, a paragraph each.
    pub(super) fn notes(&self) -> Vec<String> {
        let mut notes = Vec::new();
        if let Some(file) = &self.self_made {
            notes.push(SELF_MADE.replace("{file}", &file.display().to_string()));
        }
        if self.is_behind_unnamed {
            notes.push(UNNAMED.to_owned());
        }
        notes
    }

    /// How students get on with a self-made certificate, in a sentence for their screen.
    pub(super) fn join_note(&self) -> Option<String> {
        self.self_made.as_ref()?;
        let print = self.fingerprint()?;
        Some(format!("The certificate is self-made; add to myonym-play: --fingerprint {print}"))
    }

    /// Reads the certificate anew whenever a service manager says so.
    #[cfg(unix)]
    pub(super) fn reload_on_hangup(&self) -> std::io::Result<()> {
        use tokio::signal::unix::{SignalKind, signal};
        let Some(tls) = self.tls.clone() else { return Ok(()) };
        let mut hangup = signal(SignalKind::hangup())?;
        tokio::spawn(async move {
            while hangup.recv().await.is_some() {
                let tls = tls.clone();
                tokio::task::spawn_blocking(move || tls.reload());
            }
        });
        Ok(())
    }

    #[cfg(not(unix))]
    pub(super) fn reload_on_hangup(&self) -> std::io::Result<()> {
        Ok(())
    }
}

/// The certificate to be shown; its file too, if it is self-made.
fn pair(
    ways: &DoorArgs,
    folder: &Path,
    addresses: &[String],
) -> anyhow::Result<(Pair, Option<PathBuf>)> {
    if let (Some(certificate), Some(key)) = (&ways.certificate, &ways.private_key) {
        return Ok((Pair { certificate: certificate.clone(), key: key.clone() }, None));
    }
    let public = ways.public_link.iter().map(|link| link.address.clone());
    let hosts: Vec<String> =
        addresses.iter().cloned().chain(public).map(|address| host_of(&address)).collect();
    let pair = tls::keep(folder, &hosts, clock::wall_seconds())?;
    let file = pair.certificate.clone();
    Ok((pair, Some(file)))
}

/// The host of an address with or without a port.
fn host_of(address: &str) -> String {
    let host = match address.strip_prefix('[') {
        Some(rest) => rest.split(']').next(),
        None => address.split(':').next(),
    };
    host.unwrap_or(address).to_owned()
}

/// Binds the port asked for, or ours; a rehearsal makes do with any if ours is taken.
fn bind(address: IpAddr, port: Option<u16>, any: bool) -> anyhow::Result<TcpListener> {
    let wanted = port.unwrap_or(PORT);
    match http::bind(address, wanted) {
        Ok(listener) => Ok(listener),
        Err(_) if any && port.is_none() => http::bind(address, 0).context("no free port"),
        Err(fault) => Err(fault).with_context(|| {
            format!("cannot listen on {address} port {wanted}; choose another with --port")
        }),
    }
}

const SELF_MADE: &str = "The certificate is self-made: no authority has signed it. Students start \
    myonym-play with --fingerprint and the digits of its fingerprint, or with --certificate and a \
    copy of {file}. Browsers warn of it: nobody should go on past the warning before the \
    fingerprint that the browser shows has been compared with these digits. A certificate of an \
    authority, given with --certificate and --private-key, spares everyone this.";
const UNNAMED: &str = "Only who conducts through the proxy is told its address; every other screen \
    shows this machine's own. Name the proxy's with --public-link https://reviews.example/.";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_host_is_what_stands_before_the_port() {
        let check = |address: &str, want: &str| assert_eq!(host_of(address), want);
        check("192.0.2.7:7645", "192.0.2.7");
        check("reviews.example", "reviews.example");
        check("[2001:db8::7]:7645", "2001:db8::7");
        check("[2001:db8::7]", "2001:db8::7");
    }
}
