//! The link that a student pastes or scans: address and join word in one.

use std::fmt;
use std::str::FromStr;

use crate::{BadJoinWord, JoinWord};

/// `http://HOST:PORT/?word=radius-talus`, or the same with `https`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JoinLink {
    /// Host and port, such as `192.0.2.7:7645` or `[2001:db8::7]:7645`.
    pub address: String,
    /// Whether TLS is used.
    pub secure: bool,
    /// The join word, where the link holds one.
    pub word: Option<JoinWord>,
}

impl JoinLink {
    /// The address of the WebSocket.
    pub fn socket_url(&self) -> String {
        let scheme = if self.secure { "wss" } else { "ws" };
        format!("{scheme}://{}{}", self.address, crate::PATH)
    }
}

impl fmt::Display for JoinLink {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let scheme = if self.secure { "https" } else { "http" };
        write!(f, "{scheme}://{}/", self.address)?;
        match &self.word {
            Some(word) => write!(f, "?word={word}"),
            None => Ok(()),
        }
    }
}

/// What is wrong with a pasted link.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BadLink {
    /// No host, or one with signs that no host has.
    Address,
    /// A scheme other than http, https, ws or wss.
    Scheme,
    /// The join word is not two bone names.
    Word(BadJoinWord),
}

impl fmt::Display for BadLink {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Address => f.write_str("an address is a host and a port, such as 192.0.2.7:7645"),
            Self::Scheme => f.write_str("a link begins with http:// or https://"),
            Self::Word(bad) => bad.fmt(f),
        }
    }
}

impl std::error::Error for BadLink {}

impl FromStr for JoinLink {
    type Err = BadLink;
    fn from_str(text: &str) -> Result<Self, BadLink> {
        let text = text.trim();
        let (scheme, rest) = text.split_once("://").unwrap_or(("http", text));
        let secure = match scheme.to_ascii_lowercase().as_str() {
            "http" | "ws" => false,
            "https" | "wss" => true,
            _ => return Err(BadLink::Scheme),
        };
        let (address, tail) = rest.split_at(rest.find(['/', '?', '#']).unwrap_or(rest.len()));
        let host_like = |c: char| c.is_ascii_alphanumeric() || ".:-[]".contains(c);
        if address.is_empty() || !address.chars().all(host_like) {
            return Err(BadLink::Address);
        }
        let word = tail
            .split(['?', '&', '#'])
            .find_map(|pair| pair.strip_prefix("word="))
            .map(|word| word.replace(['+'], " ").replace("%20", " ").parse())
            .transpose()
            .map_err(BadLink::Word)?;
        Ok(Self { address: address.to_owned(), secure, word })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn links_are_read_as_people_paste_them() {
        let check = |text: &str, want: Result<(&str, bool, Option<&str>), BadLink>| {
            let got = text.parse::<JoinLink>();
            let got = got.as_ref().map_err(|e| *e).map(|link| {
                (link.address.as_str(), link.secure, link.word.as_ref().map(JoinWord::as_str))
            });
            assert_eq!(got, want, "{text}");
        };
        check("192.0.2.7:7645", Ok(("192.0.2.7:7645", false, None)));
        check(
            " http://192.0.2.7:7645/?word=Radius-Talus ",
            Ok(("192.0.2.7:7645", false, Some("radius-talus"))),
        );
        check("wss://lab.example/live?word=a-b", Ok(("lab.example", true, Some("a-b"))));
        check("[2001:db8::7]:7645", Ok(("[2001:db8::7]:7645", false, None)));
        check("ftp://x", Err(BadLink::Scheme));
        check("http:///x", Err(BadLink::Address));
        check("two words", Err(BadLink::Address));
        check("h/?word=radius", Err(BadLink::Word(BadJoinWord)));
    }

    #[test]
    fn a_link_survives_being_printed() {
        let link: JoinLink = "https://lab.example/?word=radius-talus".parse().unwrap();
        assert_eq!(link.to_string().parse(), Ok(link));
    }
}
