//! The pages for browsers, built into the program: a student's, the room's board, the
//! instructor's desk, and the styles and scripts that they load.
//!
//! Every file of `web/` that a browser loads is named in `files.rs`. All of them together have one
//! hash, which is part of the path of styles and scripts: whatever changes, a browser never mixes
//! old files with new ones, and may keep those that it has for ever.

mod files;

use std::fmt::Write as _;
use std::io::Write as _;
use std::sync::LazyLock;

use flate2::Compression;
use flate2::write::GzEncoder;
use sha2::{Digest as _, Sha256};

use files::FILES;

/// A page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Page {
    /// A student's, and that of a study group.
    Student,
    /// A screen for the whole room.
    Board,
    /// The instructor's.
    Desk,
}

impl Page {
    fn path(self) -> &'static str {
        match self {
            Self::Student => "index.html",
            Self::Board => "board.html",
            Self::Desk => "desk.html",
        }
    }
}

/// A file as it is sent.
#[derive(Debug)]
pub struct Sent {
    path: &'static str,
    /// Its media type, with the charset.
    pub media: &'static str,
    /// Its bytes.
    pub plain: Vec<u8>,
    /// The same, compressed with gzip (RFC 1952).
    pub gzip: Vec<u8>,
}

/// What marks the places in pages where the path of styles and scripts belongs.
const PLACE: &str = "{assets}";

static SENT: LazyLock<Vec<Sent>> = LazyLock::new(|| {
    let assets = format!("/assets/{}", set_hash());
    FILES.iter().map(|(path, text)| prepare(path, text, &assets)).collect()
});

static HASH: LazyLock<String> = LazyLock::new(|| {
    let mut all = Sha256::new();
    for (path, text) in FILES {
        // Lengths keep the end of one file apart from the beginning of the next.
        for part in [path, text] {
            all.update(part.len().to_be_bytes());
            all.update(part.as_bytes());
        }
    }
    all.finalize().iter().take(8).fold(String::new(), |mut hash, byte| {
        let _ = write!(hash, "{byte:02x}");
        hash
    })
});

/// The hash of all files together: 16 hexadecimal digits.
pub fn set_hash() -> &'static str {
    &HASH
}

/// A page.
pub fn page(page: Page) -> Option<&'static Sent> {
    find(page.path())
}

/// A style or script, by its path below `/assets/<hash>/`; pages are none.
pub fn asset(path: &str) -> Option<&'static Sent> {
    find(path).filter(|_| path.contains('/'))
}

fn find(path: &str) -> Option<&'static Sent> {
    SENT.iter().find(|sent| sent.path == path)
}

fn prepare(path: &'static str, text: &'static str, assets: &str) -> Sent {
    let plain = text.replace(PLACE, assets).into_bytes();
    let mut gzip = GzEncoder::new(Vec::new(), Compression::best());
    // Memory takes all that is written to it.
    let written = gzip.write_all(&plain).and_then(|()| gzip.finish());
    Sent { path, media: media(path), plain, gzip: written.unwrap_or_default() }
}

fn media(path: &str) -> &'static str {
    match path.rsplit('.').next() {
        Some("html") => "text/html; charset=utf-8",
        Some("css") => "text/css; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("svg") => "image/svg+xml; charset=utf-8",
        _ => "text/plain; charset=utf-8",
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;
    use std::fs;
    use std::io::Read as _;
    use std::path::Path;

    use flate2::read::GzDecoder;

    use super::*;

    fn below(folder: &Path, prefix: &str) -> BTreeSet<String> {
        let entries = fs::read_dir(folder).unwrap().map(Result::unwrap);
        let files = entries.flat_map(|entry| {
            let name = format!("{prefix}{}", entry.file_name().to_string_lossy());
            if entry.path().is_dir() {
                below(&entry.path(), &format!("{name}/"))
            } else {
                BTreeSet::from([name])
            }
        });
        // Types of the messages are for whoever writes scripts, not for browsers.
        files.filter(|name| !name.ends_with(".d.ts")).collect()
    }

    #[test]
    fn every_file_of_the_folder_is_built_in() {
        let there = below(&Path::new(env!("CARGO_MANIFEST_DIR")).join("web"), "");
        let built_in = FILES.iter().map(|(path, _)| (*path).to_owned()).collect();
        assert_eq!(there, built_in, "server/pages/src/files.rs names what server/pages/web/ holds");
    }

    #[test]
    fn pages_load_what_there_is_and_nothing_from_elsewhere() {
        let assets = format!("/assets/{}/", set_hash());
        for which in [Page::Student, Page::Board, Page::Desk] {
            let sent = page(which).unwrap();
            let text = std::str::from_utf8(&sent.plain).unwrap();
            assert!(!text.contains(PLACE) && !text.contains("://"), "{which:?}");
            let loaded: Vec<&str> =
                (text.split('"').filter_map(|part| part.strip_prefix(&assets))).collect();
            assert!(!loaded.is_empty(), "{which:?}");
            for path in loaded {
                assert!(asset(path).is_some(), "{which:?} loads {path}, which is not there");
            }
        }
    }

    #[test]
    fn what_is_compressed_is_the_same() {
        for sent in SENT.iter() {
            let mut back = Vec::new();
            GzDecoder::new(sent.gzip.as_slice()).read_to_end(&mut back).unwrap();
            assert_eq!(back, sent.plain, "{}", sent.path);
        }
    }

    #[test]
    fn a_page_is_no_asset() {
        assert!(asset("index.html").is_none());
        assert!(asset("css/base.css").is_some());
        assert!(asset("../Cargo.toml").is_none());
    }
}
