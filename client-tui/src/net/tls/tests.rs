//! Handshakes with servers whose certificates are good, and bad in each way that has words.

use std::fs;
use std::time::Duration;

use rcgen::{BasicConstraints, CertificateParams, CertifiedIssuer, IsCa, KeyPair, date_time_ymd};
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::TcpListener;
use tokio_rustls::TlsAcceptor;
use tokio_rustls::rustls::ServerConfig;
use tokio_rustls::rustls::pki_types::PrivateKeyDer;
use tokio_rustls::rustls::sign::{CertifiedKey, SingleCertAndKey};

use super::*;

/// A certificate and its key.
struct Made {
    certificate: CertificateDer<'static>,
    key: KeyPair,
}

impl Made {
    /// Signed by itself, for these names.
    fn self_signed(name: &str) -> Self {
        let key = KeyPair::generate().unwrap();
        let params = CertificateParams::new([name.to_owned()]).unwrap();
        Self { certificate: params.self_signed(&key).unwrap().into(), key }
    }

    fn print(&self) -> Fingerprint {
        Fingerprint::of(&self.certificate)
    }
}

/// An authority.
struct Authority(CertifiedIssuer<'static, KeyPair>);

impl Authority {
    fn new() -> Self {
        let mut params = CertificateParams::default();
        params.is_ca = IsCa::Ca(BasicConstraints::Unconstrained);
        Self(CertifiedIssuer::self_signed(params, KeyPair::generate().unwrap()).unwrap())
    }

    /// Signs for a name, for the years from one to the other.
    fn sign(&self, name: &str, from: i32, to: i32) -> Made {
        let key = KeyPair::generate().unwrap();
        let mut params = CertificateParams::new([name.to_owned()]).unwrap();
        params.not_before = date_time_ymd(from, 1, 1);
        params.not_after = date_time_ymd(to, 1, 1);
        Made { certificate: params.signed_by(&key, &self.0).unwrap().into(), key }
    }

    /// Whoever trusts its file.
    fn trust(&self) -> Trust {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("authority.pem");
        fs::write(&path, self.0.pem()).unwrap();
        Trust::new(Some(&path), None).unwrap()
    }
}

/// Shakes hands, as one who trusts so and calls by an IP address, with a server that has this
/// certificate and this key; a word has to come through.
async fn shake(trust: Trust, certificate: &Made, key: &KeyPair) -> Result<(), Miss> {
    let key = PrivateKeyDer::try_from(key.serialize_der()).unwrap();
    let key = provider().key_provider.load_private_key(key).unwrap();
    let certified = CertifiedKey::new(vec![certificate.certificate.clone()], key);
    let config = ServerConfig::builder_with_provider(provider())
        .with_safe_default_protocol_versions()
        .unwrap()
        .with_no_client_auth()
        .with_cert_resolver(Arc::new(SingleCertAndKey::from(certified)));
    let acceptor = TlsAcceptor::from(Arc::new(config));
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap().to_string();
    let serving = tokio::spawn(async move {
        let (stream, _) = listener.accept().await.unwrap();
        if let Ok(mut stream) = acceptor.accept(stream).await {
            stream.write_all(b"word").await.unwrap();
            stream.flush().await.unwrap();
        }
    });
    let calling = async {
        let stream = TcpStream::connect(&address).await.unwrap();
        let mut stream = Guard::new(trust).secure(stream, &address).await?;
        let mut word = [0; 4];
        stream.read_exact(&mut word).await.unwrap();
        assert_eq!(&word, b"word");
        Ok(())
    };
    let shaken = tokio::time::timeout(Duration::from_secs(30), calling).await;
    serving.await.unwrap();
    shaken.expect("nothing hangs")
}

fn check_refused(shaken: Result<(), Miss>, words: &[&str]) {
    let Err(Miss::Untrusted { what, todo }) = shaken else { panic!("not refused: {shaken:?}") };
    for word in words {
        assert!(what.contains(word) || todo.contains(word), "no {word} in: {what}. {todo}");
    }
}

#[tokio::test]
async fn a_certificate_that_was_named_is_taken_whatever_its_name_and_date() {
    let made = Made::self_signed("lab.example");
    let pinned = Trust::new(None, Some(made.print())).unwrap();
    assert_eq!(shake(pinned, &made, &made.key).await, Ok(()));
    let old = Authority::new().sign("lab.example", 2020, 2021);
    let pinned = Trust(Kind::Fingerprint(old.print()));
    assert_eq!(shake(pinned, &old, &old.key).await, Ok(()));
    let filed = Trust(Kind::Certificates(vec![made.certificate.clone()]));
    assert_eq!(shake(filed, &made, &made.key).await, Ok(()));
}

#[tokio::test]
async fn another_certificate_than_the_one_named_is_refused_with_its_fingerprint() {
    let (made, other) = (Made::self_signed("127.0.0.1"), Made::self_signed("127.0.0.1"));
    let print = other.print().to_string();
    let pinned = Trust(Kind::Fingerprint(made.print()));
    let words = ["another fingerprint", &print, "do not join"];
    check_refused(shake(pinned, &other, &other.key).await, &words);
    let filed = Trust(Kind::Certificates(vec![made.certificate.clone()]));
    let words = ["--certificate", &print, "do not join"];
    check_refused(shake(filed, &other, &other.key).await, &words);
}

/// RFC 8446 section 4.4.3: whoever shows a certificate proves that its key is theirs.
#[tokio::test]
async fn a_certificate_without_its_key_is_refused() {
    let (made, thief) = (Made::self_signed("127.0.0.1"), KeyPair::generate().unwrap());
    for trust in
        [Kind::Fingerprint(made.print()), Kind::Certificates(vec![made.certificate.clone()])]
    {
        check_refused(shake(Trust(trust), &made, &thief).await, &["cannot be used"]);
    }
}

/// RFC 5280 section 6.1: issuer, dates; RFC 6125 section 6: name.
#[tokio::test]
async fn what_an_authority_signed_is_taken_for_its_name_and_in_its_time() {
    let authority = Authority::new();
    let good = authority.sign("127.0.0.1", 2020, 2200);
    assert_eq!(shake(authority.trust(), &good, &good.key).await, Ok(()));
    let print = good.print().to_string();
    let stranger = Authority::new().trust();
    check_refused(shake(stranger, &good, &good.key).await, &["not in the file", &print]);
    let bad = [
        (authority.sign("lab.example", 2020, 2200), "another name"),
        (authority.sign("127.0.0.1", 2020, 2021), "has expired"),
        (authority.sign("127.0.0.1", 2199, 2200), "not valid yet"),
    ];
    for (made, word) in bad {
        check_refused(shake(authority.trust(), &made, &made.key).await, &[word]);
    }
}

/// Without being told whom to believe, nobody that no authority knows, be there authorities on this
/// machine or none.
#[tokio::test]
async fn by_itself_a_client_takes_no_self_made_certificate() {
    let made = Made::self_signed("127.0.0.1");
    check_refused(shake(Trust::default(), &made, &made.key).await, &["--fingerprint"]);
}

#[tokio::test]
async fn a_server_that_does_not_encrypt_is_told_apart() {
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap().to_string();
    let serving = async {
        let (mut stream, _) = listener.accept().await.unwrap();
        stream.write_all(b"HTTP/1.1 400 Bad Request\r\n\r\n").await.unwrap();
        stream
    };
    let calling = async {
        let stream = TcpStream::connect(&address).await.unwrap();
        let pinned = Trust(Kind::Fingerprint(Fingerprint::of(b"any")));
        Guard::new(pinned).secure(stream, &address).await.map(|_stream| ())
    };
    let (_stream, called) = tokio::join!(serving, calling);
    assert_eq!(called, Err(Miss::Unusable(NO_TLS.to_owned())));
}

#[test]
fn the_host_is_what_stands_before_the_port() {
    let check = |address: &str, want: &str| assert_eq!(host_of(address), want);
    check("lab.example", "lab.example");
    check("lab.example:7645", "lab.example");
    check("192.0.2.7:7645", "192.0.2.7");
    check("[2001:db8::7]", "2001:db8::7");
    check("[2001:db8::7]:7645", "2001:db8::7");
}
