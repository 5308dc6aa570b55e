//! TLS as a strict client speaks it.

use std::net::SocketAddr;
use std::path::Path;
use std::sync::Arc;

use anyhow::{Context as _, Result};
use tokio::net::TcpStream;
use tokio::time::timeout;
use tokio_rustls::TlsConnector;
use tokio_rustls::client::TlsStream;
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::pem::PemObject as _;
use tokio_rustls::rustls::pki_types::{CertificateDer, ServerName};
use tokio_rustls::rustls::{ClientConfig, RootCertStore};

use crate::DEADLINE;

/// A connection of the library's own strict client, which trusts the certificate in this file alone
/// and wants it to be good for the host's IP address.
pub async fn shake_hands(address: SocketAddr, trusted: &Path) -> Result<TlsStream<TcpStream>> {
    let mut roots = RootCertStore::empty();
    roots.add(CertificateDer::from_pem_file(trusted)?)?;
    let config = ClientConfig::builder_with_provider(Arc::new(ring::default_provider()))
        .with_safe_default_protocol_versions()?
        .with_root_certificates(roots)
        .with_no_client_auth();
    let stream = TcpStream::connect(address).await?;
    stream.set_nodelay(true)?;
    let name = ServerName::from(address.ip());
    let shaken = TlsConnector::from(Arc::new(config)).connect(name, stream);
    Ok(timeout(DEADLINE, shaken).await.context("no handshake")??)
}
