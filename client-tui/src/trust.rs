//! Whom a client believes at the other end of an encrypted connection.

use std::fmt;
use std::fs;
use std::path::{Path, PathBuf};
use std::str::FromStr;

use sha2::{Digest as _, Sha256};
use tokio_rustls::rustls::pki_types::CertificateDer;
use tokio_rustls::rustls::pki_types::pem::PemObject as _;

/// Whom a client believes: by itself, whoever the authorities vouch for that this computer knows.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Trust(pub(crate) Kind);

/// The kinds of trust.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) enum Kind {
    /// What the authorities known to this computer have signed.
    #[default]
    Authorities,
    /// These certificates, and what they have signed.
    Certificates(Vec<CertificateDer<'static>>),
    /// The certificate with this fingerprint alone.
    Fingerprint(Fingerprint),
}

/// The SHA-256 of a certificate (of its DER form), as browsers and other tools show it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Fingerprint([u8; 32]);

/// A text that is no fingerprint.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a fingerprint has 64 hexadecimal digits (0-9, a-f)")]
pub struct BadFingerprint;

/// Why a certificate file cannot be trusted.
#[derive(Debug, thiserror::Error)]
#[error("cannot use the certificate file {}: {why}", path.display())]
pub struct BadCertificate {
    path: PathBuf,
    why: String,
}

impl Trust {
    /// What the options ask for: the certificates in a PEM file, or the certificate with a
    /// fingerprint; without either, the authorities that this computer knows.
    pub fn new(
        certificate: Option<&Path>,
        fingerprint: Option<Fingerprint>,
    ) -> Result<Self, BadCertificate> {
        let kind = match (certificate, fingerprint) {
            (_, Some(fingerprint)) => Kind::Fingerprint(fingerprint),
            (Some(path), None) => Kind::Certificates(
                read(path).map_err(|why| BadCertificate { path: path.to_owned(), why })?,
            ),
            (None, None) => Kind::Authorities,
        };
        Ok(Self(kind))
    }

    /// Whether it was said whom to believe, so that a connection in the clear cannot be meant.
    pub(crate) fn is_chosen(&self) -> bool {
        self.0 != Kind::Authorities
    }
}

impl Fingerprint {
    /// That of a certificate in DER form.
    pub fn of(certificate: &[u8]) -> Self {
        Self(Sha256::digest(certificate).into())
    }
}

impl fmt::Display for Fingerprint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl FromStr for Fingerprint {
    type Err = BadFingerprint;

    /// Reads the digits in either case, with colons or spaces between them.
    fn from_str(text: &str) -> Result<Self, BadFingerprint> {
        let digits = text.chars().filter(|c| *c != ':' && !c.is_whitespace());
        let values: Option<Vec<u32>> = digits.map(|c| c.to_digit(16)).collect();
        let values = values.filter(|values| values.len() == 64).ok_or(BadFingerprint)?;
        let mut bytes = [0; 32];
        for (byte, pair) in bytes.iter_mut().zip(values.chunks_exact(2)) {
            let value = pair.iter().fold(0, |value, digit| value * 16 + digit);
            *byte = u8::try_from(value).map_err(|_fault| BadFingerprint)?;
        }
        Ok(Self(bytes))
    }
}

fn read(path: &Path) -> Result<Vec<CertificateDer<'static>>, String> {
    let text = fs::read(path).map_err(|fault| fault.to_string())?;
    let found: Result<Vec<_>, _> = CertificateDer::pem_slice_iter(&text).collect();
    match found {
        Ok(found) if found.is_empty() => {
            Err("it holds none; such a PEM file has a line with BEGIN CERTIFICATE".to_owned())
        }
        Ok(found) => Ok(found),
        Err(fault) => Err(fault.to_string()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fingerprints_are_read_as_tools_show_them() {
        // SHA-256 of "abc": FIPS 180-4, example in NIST's "SHA256" (from memory).
        let want = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        let abc = Fingerprint::of(b"abc");
        assert_eq!(abc.to_string(), want);
        let upper = want.to_ascii_uppercase();
        let pairs: Vec<&str> = (0..32).map(|at| &upper[2 * at..2 * at + 2]).collect();
        for text in [want.to_owned(), upper.clone(), pairs.join(":"), pairs.join(" ")] {
            assert_eq!(text.parse(), Ok(abc), "{text}");
        }
        for text in ["", &want[1..], &format!("{want}0"), &want.replace('b', "g")] {
            assert_eq!(text.parse::<Fingerprint>(), Err(BadFingerprint), "{text}");
        }
    }

    #[test]
    fn a_certificate_file_that_cannot_be_used_is_named() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("lab.pem");
        let said = || Trust::new(Some(&path), None).unwrap_err().to_string();
        let name = path.display().to_string();
        assert!(said().contains(&name));
        fs::write(&path, "nothing").unwrap();
        assert!(said().contains(&name) && said().contains("BEGIN CERTIFICATE"), "{}", said());
        assert!(!Trust::new(None, None).unwrap().is_chosen());
    }
}
