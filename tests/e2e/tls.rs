//! TLS: as students meet it at their terminals, and as clients meet it that do it badly.

use std::fs;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{
    Client, DEADLINE, Instructor, Program, Role, Student, Terminal, TestHost, http,
};
use rcgen::{BasicConstraints, CertificateParams, CertifiedIssuer, IsCa, KeyPair};
use serde_json::json;
use sha2::{Digest as _, Sha256};
use tempfile::TempDir;
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::TcpStream;
use tokio::time::timeout;
use tokio_rustls::TlsConnector;
use tokio_rustls::client::TlsStream;
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::pem::PemObject as _;
use tokio_rustls::rustls::pki_types::{CertificateDer, ServerName};
use tokio_rustls::rustls::{ClientConfig, RootCertStore};

/// A connection of the library's own strict client, which trusts the certificate in this file alone
/// and wants it to be good for the host's IP address.
async fn connect(address: SocketAddr, trusted: &Path) -> Result<TlsStream<TcpStream>> {
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

async fn open(host: &TestHost, trusted: &Path, role: Role) -> Result<Client> {
    let stream = connect(host.address, trusted).await?;
    Client::through(Box::new(stream), host.address, role, &[]).await
}

async fn conduct(host: &TestHost, trusted: &Path) -> Result<Instructor> {
    let mut client = open(host, trusted, Role::Instructor).await?;
    client.hello(json!({ "type": "conduct", "word": host.word, "key": host.key })).await?;
    let conducting = client.expect("conducting").await?;
    Ok(Instructor { client, conducting })
}

async fn join(host: &TestHost, trusted: &Path, name: &str) -> Result<Student> {
    let mut client = open(host, trusted, Role::Student).await?;
    client.hello(json!({ "type": "join", "word": host.word, "name": name })).await?;
    Student::seated(client, &host.word).await
}

fn self_made(host: &TestHost) -> PathBuf {
    host.data().join("tls/certificate.pem")
}

/// A student's program at a terminal, on a machine that knows the authorities in this file.
fn play(arguments: &[&str], authorities: &Path, home: &Path) -> Result<Terminal> {
    let known = format!("SSL_CERT_FILE={}", authorities.display());
    let program = Program::built()?.student.display().to_string();
    let words = [&[known.as_str(), &program], arguments, &["--name", "Mira"]].concat();
    Terminal::start(Path::new("env"), &words, home)
}

/// Files made for a server by an authority that knows its IP address.
struct Files {
    folder: TempDir,
    authority: CertifiedIssuer<'static, KeyPair>,
}

impl Files {
    fn new() -> Result<Self> {
        let mut params = CertificateParams::default();
        params.is_ca = IsCa::Ca(BasicConstraints::Unconstrained);
        let authority = CertifiedIssuer::self_signed(params, KeyPair::generate()?)?;
        let files = Self { folder: TempDir::new()?, authority };
        fs::write(files.path("authority.pem"), files.authority.pem())?;
        files.renew()?;
        Ok(files)
    }

    /// Another certificate and key in the same files; its fingerprint.
    fn renew(&self) -> Result<String> {
        let key = KeyPair::generate()?;
        let params = CertificateParams::new(["127.0.0.1".to_owned()])?;
        let certificate = params.signed_by(&key, &self.authority)?;
        fs::write(self.path("key.pem"), key.serialize_pem())?;
        fs::write(self.path("certificate.pem"), certificate.pem())?;
        Ok(fingerprint(certificate.der()))
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn options(&self) -> [String; 5] {
        let path = |name| self.path(name).display().to_string();
        let (certificate, key) = (path("certificate.pem"), path("key.pem"));
        ["--tls", "--certificate", &certificate, "--private-key", &key].map(ToOwned::to_owned)
    }

    async fn host(&self) -> Result<TestHost> {
        TestHost::start(&self.options().each_ref().map(String::as_str)).await
    }
}

/// SHA-256 of a certificate's DER form, as `openssl x509 -fingerprint -sha256` has it.
fn fingerprint(certificate: &[u8]) -> String {
    let digits = Sha256::digest(certificate);
    digits.iter().fold(String::new(), |text, byte| format!("{text}{byte:02x}"))
}

#[tokio::test]
async fn a_student_who_knows_the_fingerprint_plays_a_round() -> Result<()> {
    let home = TempDir::new()?;
    let host = TestHost::start(&["--tls", "--rounds", "1"]).await?;
    let der = CertificateDer::from_pem_file(self_made(&host))?;
    assert_eq!(host.fingerprint, fingerprint(&der));
    let arguments = [host.link.as_str(), "--fingerprint", &host.fingerprint];
    let mut screen = play(&arguments, &Files::new()?.path("authority.pem"), home.path())?;
    screen.until("Mira").await?;
    let mut instructor = conduct(&host, &self_made(&host)).await?;
    while instructor.client.expect("class").await?["seated"] != 1 {}
    instructor.say("start").await?;
    instructor.client.expect("round_opened").await?;
    screen.until("Round 1 of 1").await?;
    let (_, muscle) = host.log()?.reviews[0].asked()?;
    screen.keys(&format!("{}\r", muscle.name)).await?;
    // The only student has answered, so the round closes by itself.
    instructor.client.expect("round_closed").await?;
    instructor.say("reveal").await?;
    screen.until(&muscle.latin).await?;
    assert_eq!(host.log()?.reviews[0].recorded()?.len(), 1);
    host.is_sound()
}

#[tokio::test]
async fn a_self_made_certificate_is_refused_with_words_that_help() -> Result<()> {
    let home = TempDir::new()?;
    let host = TestHost::start(&["--tls"]).await?;
    let files = Files::new()?;
    let (own, authority) = (self_made(&host), files.path("authority.pem"));
    let (own, other) = (own.display().to_string(), authority.display().to_string());
    let wrong = fingerprint(b"another certificate");
    let clear = host.link.replace("https", "http");
    let cases: [(&[&str], &[&str]); 6] = [
        (&[&host.link], &["signed by no authority", &host.fingerprint, "--fingerprint"]),
        (&[&host.link, "--fingerprint", &wrong], &["another fingerprint", &host.fingerprint]),
        (&[&host.link, "--certificate", &other], &["not in the file", &host.fingerprint]),
        (&[&clear], &["begins with https://"]),
        (&[&clear, "--fingerprint", &host.fingerprint], &["encrypted connection"]),
        (&[&host.link, "--certificate", &own], &["The review begins soon"]),
    ];
    for (arguments, words) in cases {
        let mut screen = play(arguments, &authority, home.path())?;
        for word in words {
            screen.until(word).await.with_context(|| format!("{arguments:?}"))?;
        }
    }
    host.is_sound()
}

#[tokio::test]
async fn a_self_made_certificate_is_kept_and_its_key_is_private() -> Result<()> {
    use std::os::unix::fs::PermissionsExt as _;
    let mut host = TestHost::start_to_be_restarted(&["--tls"]).await?;
    let before = host.fingerprint.clone();
    let mode = |name: &str| -> Result<u32> {
        Ok(fs::metadata(host.data().join(name))?.permissions().mode() & 0o777)
    };
    assert_eq!((mode("tls")?, mode("tls/private-key.pem")?), (0o700, 0o600));
    host.stop().await?;
    host.restart().await?;
    assert_eq!(host.fingerprint, before);
    Ok(())
}

#[tokio::test]
async fn a_certificate_of_an_authority_needs_nothing_from_students() -> Result<()> {
    let home = TempDir::new()?;
    let files = Files::new()?;
    let host = files.host().await?;
    let mut screen = play(&[&host.link], &files.path("authority.pem"), home.path())?;
    screen.until("The review begins soon").await?;
    ensure!(!host.data().join("tls").exists(), "a certificate was made all the same");
    host.is_sound()
}

#[tokio::test]
async fn a_renewed_certificate_is_shown_without_a_restart() -> Result<()> {
    let files = Files::new()?;
    let authority = files.path("authority.pem");
    let host = files.host().await?;
    let mut before = join(&host, &authority, "Mira").await?;
    let renewed = files.renew()?;
    assert_ne!(renewed, host.fingerprint);
    host.signal("HUP").await?;
    let shown = async {
        loop {
            let stream = connect(host.address, &authority).await?;
            let shown = stream.get_ref().1.peer_certificates().context("no certificate")?;
            if fingerprint(&shown[0]) == renewed {
                return Ok::<_, anyhow::Error>(());
            }
        }
    };
    timeout(DEADLINE, shown).await.context("still the old one")??;
    // Whoever was there before is not disturbed.
    before.client.say(json!({ "type": "leave" })).await?;
    before.client.expect_close(1000).await?;
    host.is_sound()
}

#[tokio::test]
async fn certificate_files_that_cannot_be_used_are_named_at_the_start() -> Result<()> {
    let (files, others) = (Files::new()?, Files::new()?);
    let data = files.path("data").display().to_string();
    let (gone, stranger) = (files.path("gone.pem"), others.path("key.pem"));
    let (certificate, key) = (files.path("certificate.pem"), files.path("key.pem"));
    let cases = [
        (&gone, &key, "cannot read the certificate", &gone),
        (&certificate, &gone, "cannot read the private key", &gone),
        (&key, &key, "holds no certificate", &key),
        (&certificate, &certificate, "holds no private key", &certificate),
        (&certificate, &stranger, "does not belong", &stranger),
    ];
    for (certificate, key, word, blamed) in cases {
        let (certificate, key) = (certificate.display().to_string(), key.display().to_string());
        let ran = Program::run(&[
            "host",
            "--headless",
            "--address",
            "127.0.0.1",
            "--port",
            "0",
            "--data",
            &data,
            "--tls",
            "--certificate",
            &certificate,
            "--private-key",
            &key,
        ])
        .await?;
        assert_eq!(ran.code, Some(1), "{}", ran.err);
        ensure!(ran.err.contains(word), "no {word} in: {}", ran.err);
        ensure!(ran.err.contains(&blamed.display().to_string()), "{}", ran.err);
    }
    Ok(())
}

/// A handshake that never ends is given up by the server, and a class joins in the meantime.
#[tokio::test]
async fn half_a_handshake_is_given_up_and_harms_nobody() -> Result<()> {
    let host = TestHost::start(&["--tls", "--rounds", "1"]).await?;
    let mut slow = Vec::new();
    // Nothing, or the beginning of a record with a handshake message (RFC 8446 section 5.1).
    for begun in [&[][..], &[22], &[22, 3, 1, 2, 0], &[22, 3, 1, 2, 0, 1, 0, 1, 252, 3, 3]] {
        for _ in 0..10 {
            let mut stream = TcpStream::connect(host.address).await?;
            stream.write_all(begun).await?;
            slow.push(stream);
        }
    }
    let trusted = self_made(&host);
    let mut student = join(&host, &trusted, "Mira").await?;
    let mut instructor = conduct(&host, &trusted).await?;
    instructor.say("start").await?;
    student.client.expect("round_opened").await?;
    for stream in &mut slow {
        let end = timeout(DEADLINE, stream.read_to_end(&mut Vec::new())).await;
        // However it is told, the connection is over.
        end.context("still open")?.ok();
    }
    let (round, muscle) = host.log()?.reviews[0].asked()?;
    student.answer_recorded(round, &muscle.name).await?;
    host.is_sound()
}

#[tokio::test]
async fn whoever_speaks_no_tls_is_sent_away_and_nothing_breaks() -> Result<()> {
    let host = TestHost::start(&["--tls"]).await?;
    let answer = http(host.address, "GET /?word=radius-talus HTTP/1.1").await?;
    // RFC 9110 section 15.4.8: the same by another address, for now.
    assert_eq!(answer.status, 307, "{answer:?}");
    let location = format!("location: https://{}/?word=radius-talus\r", host.address);
    ensure!(answer.head.contains(&location), "{answer:?}");
    ensure!(answer.body.contains("https://"), "{answer:?}");
    let mut odd = TcpStream::connect(host.address).await?;
    odd.write_all(b"POST / HTTP/1.1\r\nHost: a b\r\n\r\n").await?;
    let mut answer = String::new();
    timeout(DEADLINE, odd.read_to_string(&mut answer)).await??;
    ensure!(answer.starts_with("HTTP/1.1 400 ") && answer.contains("https://"), "{answer}");
    for nonsense in [&b"\0\0\0\0"[..], b"get / http\r\n\r\n", &[22; 300], &[0x80, 0x2e, 1, 3, 1]] {
        let mut stream = TcpStream::connect(host.address).await?;
        stream.write_all(nonsense).await?;
        stream.shutdown().await?;
        // An alert or nothing, and then the end.
        let end = timeout(DEADLINE, stream.read_to_end(&mut Vec::new())).await;
        end.context("still open")?.ok();
    }
    join(&host, &self_made(&host), "Mira").await?;
    host.is_sound()
}

/// Over TLS as without: pages and the limits of HTTP.
#[tokio::test]
async fn pages_are_served_through_tls() -> Result<()> {
    let host = TestHost::start(&["--tls"]).await?;
    for version in ["HTTP/1.1", "HTTP/1.0"] {
        let mut stream = connect(host.address, &self_made(&host)).await?;
        let request = format!(
            "GET /healthz {version}\r\nHost: {}\r\nConnection: close\r\n\r\n",
            host.address
        );
        stream.write_all(request.as_bytes()).await?;
        let mut answer = String::new();
        // A proper end of TLS (RFC 8446 section 6.1), or this is an error.
        timeout(DEADLINE, stream.read_to_string(&mut answer)).await??;
        ensure!(answer.contains("200 OK") && answer.ends_with("ok\nreviews 1\n"), "{answer}");
    }
    host.is_sound()
}

#[tokio::test]
async fn the_console_of_the_host_shows_how_to_get_in() -> Result<()> {
    let home = TempDir::new()?;
    let folder = home.path().join("reviews").display().to_string();
    let arguments = ["host", "--tls", "--address", "127.0.0.1", "--port", "0", "--data", &folder];
    let mut console = Terminal::start(&Program::built()?.host, &arguments, home.path())?;
    let shown = console.until("Enter: go on to the console").await?;
    let der = CertificateDer::from_pem_file(home.path().join("reviews/tls/certificate.pem"))?;
    ensure!(shown.contains(&fingerprint(&der)), "{shown}");
    console.keys("\r").await?;
    console.until("https://127.0.0.1:").await?;
    console.until("--fingerprint").await?;
    console.keys("q").await?;
    console.keys("y").await?;
    assert_eq!(console.ended().await?, Some(0));
    Ok(())
}

#[tokio::test]
async fn an_instructor_conducts_through_tls_from_anywhere() -> Result<()> {
    let home = TempDir::new()?;
    let host = TestHost::start(&["--tls"]).await?;
    let words = ["join", &host.link, "--key", &host.key, "--fingerprint", &host.fingerprint];
    let mut console = Terminal::start(&Program::built()?.host, &words, home.path())?;
    let shown = console.until("0 students").await?;
    ensure!(shown.contains(&format!("https://{}", host.address)), "{shown}");
    let student = join(&host, &self_made(&host), "Mira").await?;
    console.until("1 student is here").await?;
    drop(student);
    host.is_sound()
}

#[tokio::test]
async fn a_rehearsal_needs_no_certificate() -> Result<()> {
    let home = TempDir::new()?;
    let folder = home.path().display().to_string();
    let ran = Program::run(&[
        "host",
        "--rehearse",
        "2",
        "--rounds",
        "1",
        "--limit",
        "1s",
        "--tls",
        "--address",
        "127.0.0.1",
        "--port",
        "0",
        "--data",
        &folder,
    ])
    .await?;
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    ensure!(ran.out.contains("Everyone is here; 1 rounds begin."), "{}", ran.out);
    Ok(())
}
