//! Who is who from review to review, without a name: keyed hashes, of no use outside this host.

use hmac::{Hmac, KeyInit as _, Mac as _};
use myonym_wire::{PersonToken, StudentId};
use sha2::Sha256;

/// Hexadecimal digits of a pseudonym: of 50,000 students two share one with a probability of one in
/// a thousand (our estimate, from the birthday problem).
const DIGITS: usize = 10;

/// What is kept of a person: nobody can come back from it to the device's secret, nor compare it
/// with that of another host.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct PersonHash(pub(crate) [u8; 32]);

/// Who a pseudonym stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Who {
    /// Someone who is the same in all reviews.
    Person(PersonHash),
    /// Someone known in one review alone.
    Student(StudentId),
}

impl Who {
    /// Whose seat this is.
    pub(crate) fn of(student: StudentId, person: Option<PersonHash>) -> Self {
        person.map_or(Self::Student(student), Self::Person)
    }
}

/// Makes hashes and pseudonyms with the random key of one data folder.
#[derive(Clone)]
pub(crate) struct Pseudonyms([u8; 32]);

impl Pseudonyms {
    /// With this key.
    pub(crate) fn new(key: [u8; 32]) -> Self {
        Self(key)
    }

    /// The person who comes with a device's secret under a name. The name is part of it, so that
    /// students at one computer are not taken for each other.
    pub(crate) fn person(&self, token: &PersonToken, name: &str) -> PersonHash {
        PersonHash(self.hash(&["person", token.reveal(), &name.to_lowercase()]))
    }

    /// The pseudonym, such as `student-7f3a9c01b2`: always the same for the same student.
    pub(crate) fn pseudonym(&self, who: Who) -> String {
        let digest = match who {
            Who::Person(PersonHash(hash)) => self.hash(&["known", &hex(&hash)]),
            Who::Student(student) => self.hash(&["student", &student.to_string()]),
        };
        let mut digits = hex(&digest);
        digits.truncate(DIGITS);
        format!("student-{digits}")
    }

    /// HMAC-SHA-256 (RFC 2104) of parts that are kept apart.
    fn hash(&self, parts: &[&str]) -> [u8; 32] {
        let mut mac = Hmac::<Sha256>::new_from_slice(&self.0).expect("a key of any length is good");
        for part in parts {
            mac.update(part.as_bytes());
            mac.update(&[0]);
        }
        mac.finalize().into_bytes().into()
    }
}

impl std::fmt::Debug for Pseudonyms {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Pseudonyms(secret)")
    }
}

fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write as _;
    let mut text = String::with_capacity(2 * bytes.len());
    for byte in bytes {
        // Writing to a string cannot fail.
        let _ = write!(text, "{byte:02x}");
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn token(bits: u128) -> PersonToken {
        PersonToken::from_bits(bits)
    }

    /// RFC 4231, test case 2: HMAC-SHA-256 of `what do ya want for nothing?` with the key `Jefe`.
    #[test]
    fn the_hash_is_hmac_sha_256() {
        let mut mac = Hmac::<Sha256>::new_from_slice(b"Jefe").unwrap();
        mac.update(b"what do ya want for nothing?");
        let digest: [u8; 32] = mac.finalize().into_bytes().into();
        assert_eq!(
            hex(&digest),
            "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"
        );
    }

    #[test]
    fn a_person_is_one_secret_under_one_name_at_one_host() {
        let host = Pseudonyms::new([7; 32]);
        let ana = host.person(&token(1), "Ana");
        assert_eq!(host.person(&token(1), "ANA"), ana);
        assert_ne!(host.person(&token(1), "Ben"), ana);
        assert_ne!(host.person(&token(2), "Ana"), ana);
        assert_ne!(Pseudonyms::new([8; 32]).person(&token(1), "Ana"), ana);
    }

    #[test]
    fn a_pseudonym_is_the_same_for_the_same_and_tells_nothing() {
        let host = Pseudonyms::new([7; 32]);
        let who = Who::Person(host.person(&token(1), "Ana"));
        let told = host.pseudonym(who);
        assert_eq!(told, host.pseudonym(who));
        let digits = told.strip_prefix("student-").unwrap();
        assert!(digits.len() == DIGITS && digits.bytes().all(|b| b.is_ascii_hexdigit()), "{told}");
        let student = StudentId(uuid::Uuid::from_u128(1));
        assert_ne!(host.pseudonym(Who::Student(student)), told);
        assert_ne!(Pseudonyms::new([8; 32]).pseudonym(who), told);
    }
}
