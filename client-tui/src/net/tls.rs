//! TLS for `https` links: whose certificate is taken, and what to say of one that is not.

use std::io;
use std::sync::Arc;

use tokio::net::TcpStream;
use tokio::sync::OnceCell;
use tokio_rustls::TlsConnector;
use tokio_rustls::client::TlsStream;
use tokio_rustls::rustls::client::WebPkiServerVerifier;
use tokio_rustls::rustls::client::danger::{
    HandshakeSignatureValid, ServerCertVerified, ServerCertVerifier,
};
use tokio_rustls::rustls::crypto::{CryptoProvider, ring};
use tokio_rustls::rustls::crypto::{verify_tls12_signature, verify_tls13_signature};
use tokio_rustls::rustls::pki_types::{CertificateDer, ServerName, UnixTime};
use tokio_rustls::rustls::{
    CertificateError, ClientConfig, DigitallySignedStruct, Error, OtherError, RootCertStore,
    SignatureScheme,
};

use super::socket::{self, Miss};
use crate::Trust;
use crate::trust::{Fingerprint, Kind};

/// Lets through whom the student trusts.
#[derive(Debug, Default)]
pub(crate) struct Guard {
    trust: Trust,
    /// Read once: some systems take their time to list their authorities.
    authorities: OnceCell<Authorities>,
}

/// What checks a chain of certificates; nothing where there is nobody to check against.
type Authorities = Option<Arc<WebPkiServerVerifier>>;

impl Guard {
    /// A guard who believes as told.
    pub(crate) fn new(trust: Trust) -> Self {
        Self { trust, authorities: OnceCell::new() }
    }

    /// Whether a connection in the clear cannot be meant.
    pub(super) fn insists(&self) -> bool {
        self.trust.is_chosen()
    }

    /// Shakes hands with a server that was called by this address.
    pub(super) async fn secure(
        &self,
        stream: TcpStream,
        address: &str,
    ) -> Result<TlsStream<TcpStream>, Miss> {
        let authorities = self.authorities.get_or_init(|| authorities(&self.trust)).await;
        if authorities.is_none() && self.trust.0 == Kind::Authorities {
            return Err(untrusted(NO_AUTHORITIES, ASK_FINGERPRINT));
        }
        let kind = self.trust.0.clone();
        let checker = Checker { kind, authorities: authorities.clone(), provider: provider() };
        let config = config(checker).map_err(|fault| Miss::Unusable(fault.to_string()))?;
        let name = ServerName::try_from(host_of(address).to_owned())
            .map_err(|_fault| Miss::Unusable(socket::NO_ADDRESS.to_owned()))?;
        let connector = TlsConnector::from(Arc::new(config));
        connector.connect(name, stream).await.map_err(|fault| miss(&fault, &self.trust.0))
    }
}

/// Checks one server's certificate.
#[derive(Debug)]
struct Checker {
    kind: Kind,
    authorities: Authorities,
    provider: Arc<CryptoProvider>,
}

/// A certificate that was not taken.
#[derive(Debug, thiserror::Error)]
#[error("{why}")]
struct Unfit {
    why: Error,
    print: Fingerprint,
}

impl Checker {
    fn check(
        &self,
        certificate: &CertificateDer<'_>,
        issuers: &[CertificateDer<'_>],
        name: &ServerName<'_>,
        ocsp: &[u8],
        now: UnixTime,
    ) -> Result<(), Error> {
        let unknown = || Err(CertificateError::UnknownIssuer.into());
        match &self.kind {
            // Whoever named one certificate means it, whatever name or date it bears: its key is
            // what counts, and that is proved by the signature of the handshake.
            Kind::Fingerprint(wanted) if *wanted == Fingerprint::of(certificate) => Ok(()),
            Kind::Certificates(known) if known.iter().any(|known| known == certificate) => Ok(()),
            Kind::Fingerprint(_) => unknown(),
            Kind::Certificates(_) | Kind::Authorities => match &self.authorities {
                Some(authorities) => authorities
                    .verify_server_cert(certificate, issuers, name, ocsp, now)
                    .map(|_verified| ()),
                None => unknown(),
            },
        }
    }
}

impl ServerCertVerifier for Checker {
    fn verify_server_cert(
        &self,
        certificate: &CertificateDer<'_>,
        issuers: &[CertificateDer<'_>],
        name: &ServerName<'_>,
        ocsp: &[u8],
        now: UnixTime,
    ) -> Result<ServerCertVerified, Error> {
        let unfit = |why| {
            let unfit = Unfit { why, print: Fingerprint::of(certificate) };
            Error::from(CertificateError::Other(OtherError(Arc::new(unfit))))
        };
        let checked = self.check(certificate, issuers, name, ocsp, now);
        checked.map(|()| ServerCertVerified::assertion()).map_err(unfit)
    }

    fn verify_tls12_signature(
        &self,
        message: &[u8],
        certificate: &CertificateDer<'_>,
        signed: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, Error> {
        let known = &self.provider.signature_verification_algorithms;
        verify_tls12_signature(message, certificate, signed, known)
    }

    fn verify_tls13_signature(
        &self,
        message: &[u8],
        certificate: &CertificateDer<'_>,
        signed: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, Error> {
        let known = &self.provider.signature_verification_algorithms;
        verify_tls13_signature(message, certificate, signed, known)
    }

    fn supported_verify_schemes(&self) -> Vec<SignatureScheme> {
        self.provider.signature_verification_algorithms.supported_schemes()
    }
}

fn provider() -> Arc<CryptoProvider> {
    Arc::new(ring::default_provider())
}

/// TLS 1.2 and 1.3 as the library has them by default, for HTTP/1.1 alone.
fn config(checker: Checker) -> Result<ClientConfig, Error> {
    let mut config = ClientConfig::builder_with_provider(checker.provider.clone())
        .with_safe_default_protocol_versions()?
        .dangerous()
        .with_custom_certificate_verifier(Arc::new(checker))
        .with_no_client_auth();
    config.alpn_protocols = vec![b"http/1.1".to_vec()];
    Ok(config)
}

/// Reads whom to check against: the computer's own list of authorities, or the certificates given.
async fn authorities(trust: &Trust) -> Authorities {
    let certificates = match &trust.0 {
        Kind::Fingerprint(_) => return None,
        Kind::Certificates(certificates) => certificates.clone(),
        Kind::Authorities => {
            let listed = tokio::task::spawn_blocking(rustls_native_certs::load_native_certs).await;
            let listed = listed.ok()?;
            for fault in &listed.errors {
                tracing::debug!(%fault, "an authority of this computer cannot be read");
            }
            listed.certs
        }
    };
    let mut roots = RootCertStore::empty();
    roots.add_parsable_certificates(certificates);
    WebPkiServerVerifier::builder_with_provider(roots.into(), provider()).build().ok()
}

/// What a handshake that failed means.
fn miss(fault: &io::Error, kind: &Kind) -> Miss {
    match fault.get_ref().and_then(|fault| fault.downcast_ref::<Error>()) {
        Some(Error::InvalidCertificate(CertificateError::Other(OtherError(other)))) => {
            match other.downcast_ref::<Unfit>() {
                Some(Unfit { why: Error::InvalidCertificate(why), print }) => {
                    let (what, todo) = in_words(why, *print, kind);
                    untrusted(&what, todo)
                }
                _ => untrusted(&format!("its certificate cannot be used ({other})"), TELL),
            }
        }
        Some(Error::InvalidCertificate(why)) => {
            untrusted(&format!("its certificate cannot be used ({why})"), TELL)
        }
        Some(Error::InvalidMessage(_)) => Miss::Unusable(NO_TLS.to_owned()),
        Some(fault) => Miss::Lost(format!("no encryption came about: {fault}")),
        None => Miss::Lost(socket::of_io(fault)),
    }
}

/// What is wrong with a certificate, and what to do.
fn in_words(why: &CertificateError, print: Fingerprint, kind: &Kind) -> (String, &'static str) {
    use CertificateError as Why;
    match (why, kind) {
        // A bad signature: someone else of the same name has signed it.
        (Why::UnknownIssuer | Why::BadSignature, Kind::Authorities) => (
            format!(
                "its certificate is signed by no authority that this computer knows; the \
                 fingerprint is {print}"
            ),
            COMPARE,
        ),
        (Why::UnknownIssuer | Why::BadSignature, Kind::Certificates(_)) => (
            format!(
                "its certificate is not in the file given with --certificate; the fingerprint is \
                 {print}"
            ),
            COMPARE,
        ),
        (Why::UnknownIssuer | Why::BadSignature, Kind::Fingerprint(_)) => (
            format!("its certificate has another fingerprint than the one given: {print}"),
            COMPARE,
        ),
        (Why::Expired | Why::ExpiredContext { .. }, _) => {
            ("its certificate has expired".to_owned(), DATE)
        }
        (Why::NotValidYet | Why::NotValidYetContext { .. }, _) => {
            ("its certificate is not valid yet".to_owned(), DATE)
        }
        (Why::NotValidForName | Why::NotValidForNameContext { .. }, _) => {
            ("its certificate is made out for another name".to_owned(), NAME)
        }
        (other, _) => (format!("its certificate cannot be used ({other})"), TELL),
    }
}

fn untrusted(what: &str, todo: &'static str) -> Miss {
    Miss::Untrusted { what: what.to_owned(), todo }
}

/// The host of an address with or without a port.
fn host_of(address: &str) -> &str {
    let host = match address.strip_prefix('[') {
        Some(rest) => rest.split(']').next(),
        None => address.split(':').next(),
    };
    host.unwrap_or(address)
}

const NO_TLS: &str = "it does not encrypt; ask for its link, which begins with http://";
const NO_AUTHORITIES: &str =
    "this computer has no list of authorities to check its certificate against";
const ASK_FINGERPRINT: &str =
    "Install the system's list (ca-certificates), or start again with --fingerprint.";
const COMPARE: &str = "Compare it with the fingerprint that the instructor shows. If they are the \
    same, start again with --fingerprint and these digits. If not, do not join: someone may stand \
    between you and the server.";
const DATE: &str = "Look whether this computer's date is right; if it is, tell the instructor.";
const NAME: &str =
    "Type the address just as the instructor shows it; if you did, tell the instructor.";
const TELL: &str = "Tell the instructor.";

#[cfg(test)]
mod tests;
