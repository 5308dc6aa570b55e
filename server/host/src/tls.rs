//! TLS at the server's own door: handshakes, and certificates that are read anew when their files
//! change, so that a renewal needs no restart.

mod pair;
mod self_made;

use std::io;
use std::sync::{Arc, Mutex, PoisonError, RwLock};

use myonym_play::Fingerprint;
use myonym_wire::Millis;
use tokio::net::TcpStream;
use tokio_rustls::TlsAcceptor;
use tokio_rustls::rustls::crypto::{CryptoProvider, ring};
use tokio_rustls::rustls::server::{ClientHello, ResolvesServerCert};
use tokio_rustls::rustls::sign::CertifiedKey;
use tokio_rustls::rustls::{Error, ServerConfig};
use tracing::{info, warn};

use crate::stream::Stream;

pub(crate) use pair::{Pair, PairFault};
pub(crate) use self_made::keep;

/// Time between two looks at the files, in milliseconds.
const LOOK_MS: u64 = 60_000;
/// Bytes of output that a connection may hold in TLS records; what it cannot take yet waits in front
/// of TLS, where it is counted.
const BUFFER: usize = 16 * 1024;

/// What shakes hands.
pub(crate) struct Tls {
    acceptor: TlsAcceptor,
    pair: Pair,
    shown: Arc<Shown>,
    looked: Mutex<Millis>,
}

/// What a new connection turned out to be.
pub(crate) enum Opened {
    /// TLS, after the handshake.
    Secure(Stream),
    /// HTTP in the clear, nothing read of it yet.
    InTheClear(Stream),
}

/// The certificate that is shown to whoever connects.
#[derive(Debug)]
struct Shown(RwLock<Known>);

#[derive(Debug, Clone)]
struct Known {
    certified: Arc<CertifiedKey>,
    /// Of the files that it was read from.
    digest: [u8; 32],
}

impl Tls {
    /// Reads a certificate and its key; `now` is when that was.
    pub(crate) fn new(pair: Pair, now: Millis) -> Result<Self, PairFault> {
        let known = Known::of(pair.read()?);
        let shown = Arc::new(Shown(RwLock::new(known)));
        let config = config(shown.clone()).map_err(PairFault::Tls)?;
        let acceptor = TlsAcceptor::from(Arc::new(config));
        Ok(Self { acceptor, pair, shown, looked: Mutex::new(now) })
    }

    /// SHA-256 of the certificate that is shown.
    pub(crate) fn fingerprint(&self) -> Option<Fingerprint> {
        self.shown.now().certified.cert.first().map(|certificate| Fingerprint::of(certificate))
    }

    /// Finds out what a new connection speaks and, where it is TLS, does the handshake. The caller
    /// sets the time for it.
    pub(crate) async fn open(&self, stream: TcpStream) -> io::Result<Opened> {
        let mut first = [0];
        // A method of HTTP (RFC 9110 section 9.1) begins with a letter, a TLS record (RFC 8446
        // section 5.1) with the number 22.
        if stream.peek(&mut first).await? == 1 && first[0].is_ascii_uppercase() {
            return Ok(Opened::InTheClear(Stream::Plain(stream)));
        }
        let small = |session: &mut tokio_rustls::rustls::ServerConnection| {
            session.set_buffer_limit(Some(BUFFER));
        };
        let stream = self.acceptor.accept_with(stream, small).await?;
        Ok(Opened::Secure(Stream::Secure(Box::new(stream))))
    }

    /// Looks whether the files have changed, if a minute has passed since that was last done; on a
    /// thread of its own, so that no connection waits for a disk.
    pub(crate) fn look(self: &Arc<Self>, now: Millis) {
        if self.is_due(now) {
            let tls = self.clone();
            tokio::task::spawn_blocking(move || tls.reload());
        }
    }

    fn is_due(&self, now: Millis) -> bool {
        let mut looked = self.looked.lock().unwrap_or_else(PoisonError::into_inner);
        let is_due = now.minus(*looked) >= Millis(LOOK_MS);
        if is_due {
            *looked = now;
        }
        is_due
    }

    /// Reads the files, and shows the certificate in them from now on if it is another one. If they
    /// cannot be used (half of a renewal is there, say), the one before goes on being shown.
    pub(crate) fn reload(&self) {
        match self.pair.read().map(Known::of) {
            Ok(known) if known.digest == self.shown.now().digest => {}
            Ok(known) => {
                self.shown.set(known);
                let fingerprint = self.fingerprint().map(|print| print.to_string());
                info!(fingerprint, "the certificate was changed; the new one is shown from now on");
            }
            Err(fault) => warn!(%fault, "the certificate before goes on being shown"),
        }
    }
}

impl std::fmt::Debug for Tls {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Tls").field("pair", &self.pair).finish_non_exhaustive()
    }
}

impl Known {
    fn of(read: pair::Read) -> Self {
        Self { certified: Arc::new(read.certified), digest: read.digest }
    }
}

impl Shown {
    fn now(&self) -> Known {
        self.0.read().unwrap_or_else(PoisonError::into_inner).clone()
    }

    fn set(&self, known: Known) {
        *self.0.write().unwrap_or_else(PoisonError::into_inner) = known;
    }
}

impl ResolvesServerCert for Shown {
    fn resolve(&self, _: ClientHello<'_>) -> Option<Arc<CertifiedKey>> {
        Some(self.now().certified)
    }
}

/// The cryptography that is used throughout.
fn provider() -> Arc<CryptoProvider> {
    Arc::new(ring::default_provider())
}

/// TLS 1.2 and 1.3 as the library has them by default, for HTTP/1.1 alone.
fn config(shown: Arc<Shown>) -> Result<ServerConfig, Error> {
    let mut config = ServerConfig::builder_with_provider(provider())
        .with_safe_default_protocol_versions()?
        .with_no_client_auth()
        .with_cert_resolver(shown);
    config.alpn_protocols = vec![b"http/1.1".to_vec()];
    Ok(config)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_renewed_certificate_is_shown_within_a_minute() {
        let folder = tempfile::tempdir().unwrap();
        let names = ["192.0.2.7".to_owned()];
        let tls = Tls::new(keep(folder.path(), &names, 1_800_000_000).unwrap(), Millis(5)).unwrap();
        let first = tls.fingerprint();
        assert!(!tls.is_due(Millis(60_004)));
        assert!(tls.is_due(Millis(60_005)));
        assert!(!tls.is_due(Millis(60_006)));
        tls.reload();
        assert_eq!(tls.fingerprint(), first);

        // Half of a renewal, and then all of it.
        let other = tempfile::tempdir().unwrap();
        let renewed = keep(other.path(), &names, 1_800_000_000).unwrap();
        std::fs::copy(&renewed.certificate, &tls.pair.certificate).unwrap();
        tls.reload();
        assert_eq!(tls.fingerprint(), first);
        std::fs::copy(&renewed.key, &tls.pair.key).unwrap();
        tls.reload();
        let second = tls.fingerprint();
        assert_ne!(second, first);
        assert_eq!(second, Tls::new(renewed, Millis(0)).unwrap().fingerprint());
    }
}
