//! Tokens: made from the system's entropy, kept as hashes, compared in constant time.

use myonym_wire::{HostKey, SeatToken, StudentId};
use rand::TryRng as _;
use rand::rngs::SysRng;
use sha2::{Digest as _, Sha256};
use subtle::ConstantTimeEq as _;
use uuid::Builder;

/// The SHA-256 of a token. A token has 128 random bits, so no salt is needed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct TokenHash(pub(crate) [u8; 32]);

impl TokenHash {
    /// The hash of a token's text.
    pub(crate) fn of(token: &str) -> Self {
        Self(Sha256::digest(token.as_bytes()).into())
    }

    /// Whether both are the same, in a time that does not depend on where they differ.
    pub(crate) fn matches(&self, other: &Self) -> bool {
        self.0.ct_eq(&other.0).into()
    }
}

/// A fresh host's key.
pub(crate) fn host_key() -> HostKey {
    HostKey::from_bits(bits())
}

/// A seat token of fresh bits.
pub(crate) fn seat_token(bits: u128) -> SeatToken {
    SeatToken::from_bits(bits)
}

/// A student's number of fresh bits.
pub(crate) fn student_id(bits: u128) -> StudentId {
    StudentId(Builder::from_random_bytes(bits.to_be_bytes()).into_uuid())
}

/// A fresh key of pseudonyms.
pub(crate) fn pseudonym_key() -> [u8; 32] {
    let mut key = [0; 32];
    fill(&mut key);
    key
}

/// Fresh entropy for a seed.
pub(crate) fn seed() -> u64 {
    u64::try_from(bits() >> 64).unwrap_or_default()
}

/// 128 bits of the system's entropy.
pub(crate) fn bits() -> u128 {
    let mut bytes = [0; 16];
    fill(&mut bytes);
    u128::from_le_bytes(bytes)
}

fn fill(bytes: &mut [u8]) {
    SysRng.try_fill_bytes(bytes).expect("the operating system gives entropy");
}

#[cfg(test)]
mod tests {
    use super::*;

    /// FIPS 180-2, appendix B.1: the digest of `abc`.
    #[test]
    fn hashes_are_sha_256() {
        let digest = u128::from_be_bytes(TokenHash::of("abc").0[..16].try_into().unwrap());
        assert_eq!(format!("{digest:032x}"), "ba7816bf8f01cfea414140de5dae2223");
    }

    #[test]
    fn tokens_differ_and_match_only_themselves() {
        let (a, b) = (seat_token(bits()), seat_token(bits()));
        assert_ne!(a, b);
        assert!(TokenHash::of(a.reveal()).matches(&TokenHash::of(a.reveal())));
        assert!(!TokenHash::of(a.reveal()).matches(&TokenHash::of(b.reveal())));
    }
}
