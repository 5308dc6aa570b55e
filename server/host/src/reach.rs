//! How students reach this server: what links, screens and codes tell them.

use myonym_wire::{JoinLink, JoinWord};

/// Addresses that are told, and how they are spoken to.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Reach {
    /// Host and port, or a host alone where the port is the usual one; the likeliest first.
    pub(crate) addresses: Vec<String>,
    /// Whether by TLS.
    pub(crate) secure: bool,
}

impl Reach {
    /// The link to join a review with, by the likeliest address.
    pub(crate) fn link(&self, word: &JoinWord) -> JoinLink {
        let address = self.addresses.first().cloned().unwrap_or_default();
        JoinLink { address, secure: self.secure, word: Some(word.clone()) }
    }
}

impl From<&JoinLink> for Reach {
    fn from(link: &JoinLink) -> Self {
        Self { addresses: vec![link.address.clone()], secure: link.secure }
    }
}
