//! TLS at both ends of a load, by the certificate that the server under test made for itself.

use std::path::Path;
use std::sync::Arc;

use anyhow::Context;
use tokio_rustls::TlsAcceptor;
use tokio_rustls::rustls::crypto::ring::default_provider;
use tokio_rustls::rustls::pki_types::pem::PemObject;
use tokio_rustls::rustls::pki_types::{CertificateDer, PrivateKeyDer};
use tokio_rustls::rustls::{ClientConfig, RootCertStore, ServerConfig};

/// Files of the certificate in a data folder.
pub(crate) const CERTIFICATE: &str = "certificate.pem";
/// Its private key.
pub(crate) const KEY: &str = "private-key.pem";

/// What a baseline shakes hands with.
pub(crate) fn acceptor(folder: &Path) -> anyhow::Result<TlsAcceptor> {
    let key = PrivateKeyDer::from_pem_file(folder.join(KEY)).context("no private key")?;
    let config = ServerConfig::builder_with_provider(Arc::new(default_provider()))
        .with_safe_default_protocol_versions()?
        .with_no_client_auth()
        .with_single_cert(certificates(folder)?, key)?;
    Ok(TlsAcceptor::from(Arc::new(config)))
}

/// What a client believes: this one certificate.
pub(crate) fn trust(folder: &Path) -> anyhow::Result<Arc<ClientConfig>> {
    let mut roots = RootCertStore::empty();
    for certificate in certificates(folder)? {
        roots.add(certificate)?;
    }
    let mut config = ClientConfig::builder_with_provider(Arc::new(default_provider()))
        .with_safe_default_protocol_versions()?
        .with_root_certificates(roots)
        .with_no_client_auth();
    // Every student of a real class is another client: none of them comes back by a ticket.
    config.resumption = tokio_rustls::rustls::client::Resumption::disabled();
    Ok(Arc::new(config))
}

fn certificates(folder: &Path) -> anyhow::Result<Vec<CertificateDer<'static>>> {
    CertificateDer::pem_file_iter(folder.join(CERTIFICATE))
        .and_then(Iterator::collect)
        .context("no certificate that can be read")
}
