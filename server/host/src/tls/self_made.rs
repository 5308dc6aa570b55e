//! A certificate of our own making, signed by nobody else, kept in the data folder.
//!
//! It is kept as long as a careful client would go on taking it: made anew when it is about to
//! expire, when the server has other addresses than it names, or when its files are spoilt.

use std::fs::{self, OpenOptions};
use std::io::{self, Write as _};
use std::path::Path;
use std::time::Duration;

use jiff::{Timestamp, tz::TimeZone};
use rcgen::{
    CertificateParams, DistinguishedName, DnType, ExtendedKeyUsagePurpose, IsCa, KeyPair,
    KeyUsagePurpose, date_time_ymd,
};
use tokio_rustls::rustls::client::WebPkiServerVerifier;
use tokio_rustls::rustls::client::danger::ServerCertVerifier as _;
use tokio_rustls::rustls::pki_types::{CertificateDer, ServerName, UnixTime};
use tokio_rustls::rustls::{Error, RootCertStore};

use super::{Pair, provider};

const DAY_S: i64 = 24 * 3_600;
/// Days for which it is good, one of them before it was made: some systems take no certificate that
/// is good for more than 825 (from memory).
const LIFE_DAYS: i64 = 800;
/// Days before its end on which another is made.
const RENEWAL_DAYS: i64 = 30;

/// Why there is no certificate.
#[derive(Debug, thiserror::Error)]
pub(crate) enum SelfMadeFault {
    /// It cannot be made.
    #[error("cannot make a certificate: {0}")]
    Make(#[from] rcgen::Error),
    /// The time cannot be written as a date.
    #[error("cannot make a certificate: this computer's clock is wrong ({0})")]
    Clock(#[from] jiff::Error),
    /// It cannot be kept.
    #[error("cannot keep a certificate in {path}: {fault}")]
    Keep {
        /// The folder.
        path: String,
        /// What the system says.
        fault: io::Error,
    },
}

/// The certificate of a folder, made now (wall-clock seconds) if there is none that is good for all
/// these hosts: names or IP addresses.
pub(crate) fn keep(folder: &Path, hosts: &[String], now: i64) -> Result<Pair, SelfMadeFault> {
    let pair =
        Pair { certificate: folder.join("certificate.pem"), key: folder.join("private-key.pem") };
    if !is_good(&pair, hosts, now) {
        let (certificate, key) = make(hosts, now)?;
        write(folder, &pair, &certificate, &key)
            .map_err(|fault| SelfMadeFault::Keep { path: folder.display().to_string(), fault })?;
    }
    Ok(pair)
}

/// Whether a client that trusts it would take it for all the hosts, now and for some time to come.
fn is_good(pair: &Pair, hosts: &[String], now: i64) -> bool {
    let Ok(read) = pair.read() else { return false };
    let Some(certificate) = read.certified.cert.first() else { return false };
    let times = [now, now + RENEWAL_DAYS * DAY_S];
    let is_taken = |host: &str| times.iter().all(|time| is_taken(certificate, host, *time).is_ok());
    LOCAL.iter().all(|host| is_taken(host)) && hosts.iter().all(|host| is_taken(host))
}

fn is_taken(certificate: &CertificateDer<'_>, host: &str, time: i64) -> Result<(), Error> {
    let mut roots = RootCertStore::empty();
    roots.add(certificate.clone().into_owned())?;
    let checker = WebPkiServerVerifier::builder_with_provider(roots.into(), provider())
        .build()
        .map_err(|fault| Error::General(fault.to_string()))?;
    let host = ServerName::try_from(host).map_err(|fault| Error::General(fault.to_string()))?;
    let time = Duration::from_secs(u64::try_from(time).unwrap_or_default());
    let time = UnixTime::since_unix_epoch(time);
    checker.verify_server_cert(certificate, &[], &host, &[], time).map(|_| ())
}

/// A certificate and its key, as PEM.
fn make(hosts: &[String], now: i64) -> Result<(String, String), SelfMadeFault> {
    let mut names: Vec<String> = LOCAL.map(ToOwned::to_owned).into();
    names.extend(hosts.iter().filter(|host| !LOCAL.contains(&host.as_str())).cloned());
    let mut params = CertificateParams::new(names)?;
    params.distinguished_name = DistinguishedName::new();
    params.distinguished_name.push(DnType::CommonName, "Myonym, self-made");
    let (year, month, day) = date(now - DAY_S)?;
    params.not_before = date_time_ymd(year, month, day);
    let (year, month, day) = date(now + (LIFE_DAYS - 1) * DAY_S)?;
    params.not_after = date_time_ymd(year, month, day);
    params.is_ca = IsCa::ExplicitNoCa;
    params.key_usages = vec![KeyUsagePurpose::DigitalSignature];
    params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
    let key = KeyPair::generate()?;
    Ok((params.self_signed(&key)?.pem(), key.serialize_pem()))
}

/// Year, month and day of a time.
fn date(time: i64) -> Result<(i32, u8, u8), jiff::Error> {
    let date = TimeZone::UTC.to_datetime(Timestamp::from_second(time)?).date();
    Ok((date.year().into(), date.month().unsigned_abs(), date.day().unsigned_abs()))
}

fn write(folder: &Path, pair: &Pair, certificate: &str, key: &str) -> io::Result<()> {
    let mut folders = fs::DirBuilder::new();
    folders.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut folders, 0o700);
    folders.create(folder)?;
    // The key first: a certificate without its key is noticed, and both are made again.
    private(&pair.key, key)?;
    private(&pair.certificate, certificate)
}

/// Writes a file that nobody else may read; beside it and then moved, so that half a file is never
/// taken for a whole one.
fn private(path: &Path, text: &str) -> io::Result<()> {
    let fresh = path.with_extension("new");
    let mut options = OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file = options.open(&fresh)?;
    file.write_all(text.as_bytes())?;
    file.sync_all()?;
    fs::rename(&fresh, path)
}

/// Always in it: how this machine reaches itself.
const LOCAL: [&str; 3] = ["localhost", "127.0.0.1", "::1"];

#[cfg(test)]
mod tests {
    use super::*;

    const NOW: i64 = 1_800_000_000;

    fn certificate(pair: &Pair) -> CertificateDer<'static> {
        pair.read().unwrap().certified.cert[0].clone()
    }

    #[test]
    fn it_is_kept_until_it_no_longer_fits() {
        let folder = tempfile::tempdir().unwrap();
        let folder = folder.path().join("deep/tls");
        let kept = |hosts: &[&str], now| {
            let hosts: Vec<String> = hosts.iter().map(ToString::to_string).collect();
            certificate(&keep(&folder, &hosts, now).unwrap())
        };
        let first = kept(&["192.0.2.7", "2001:db8::7", "lab.example"], NOW);
        assert_eq!(kept(&["192.0.2.7"], NOW), first);
        assert_eq!(kept(&["lab.example"], NOW + 760 * DAY_S), first);
        // Other addresses, and then an end that is near.
        let second = kept(&["192.0.2.8"], NOW);
        assert_ne!(second, first);
        assert_eq!(kept(&[], NOW + 760 * DAY_S), second);
        let third = kept(&[], NOW + 775 * DAY_S);
        assert_ne!(third, second);
        // The clock was set back before it was made.
        assert_ne!(kept(&[], NOW), third);
    }

    #[test]
    fn spoilt_files_are_made_anew() {
        let folder = tempfile::tempdir().unwrap();
        let pair = keep(folder.path(), &[], NOW).unwrap();
        let first = certificate(&pair);
        fs::write(&pair.key, "").unwrap();
        assert_eq!(keep(folder.path(), &[], NOW).unwrap(), pair);
        assert_ne!(certificate(&pair), first);
    }

    /// RFC 5280 section 4.2.1.6 and RFC 6125 section 6.4: only names that it holds.
    #[test]
    fn it_is_good_for_its_names_alone() {
        let folder = tempfile::tempdir().unwrap();
        let pair = keep(folder.path(), &["192.0.2.7".to_owned()], NOW).unwrap();
        let certificate = certificate(&pair);
        let check = |host: &str, time: i64, want: bool| {
            assert_eq!(is_taken(&certificate, host, time).is_ok(), want, "{host} {time}");
        };
        check("192.0.2.7", NOW, true);
        check("localhost", NOW, true);
        check("::1", NOW, true);
        check("192.0.2.8", NOW, false);
        check("lab.example", NOW, false);
        check("localhost", NOW - 2 * DAY_S, false);
        check("localhost", NOW + 825 * DAY_S, false);
    }

    #[cfg(unix)]
    #[test]
    fn nobody_else_may_read_it() {
        use std::os::unix::fs::PermissionsExt as _;
        let folder = tempfile::tempdir().unwrap();
        let folder = folder.path().join("tls");
        let pair = keep(&folder, &[], NOW).unwrap();
        let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
        assert_eq!(mode(&folder), 0o700);
        assert_eq!((mode(&pair.key), mode(&pair.certificate)), (0o600, 0o600));
    }
}
