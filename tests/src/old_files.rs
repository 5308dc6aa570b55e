//! Data files of every form that there was; `tests/reference/data-files/README.md` says how they were
//! made.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::Result;
use rusqlite::Connection;

/// What is known of one of the files beside itself.
#[derive(Debug)]
pub struct OldFile {
    /// Its form.
    pub form: i64,
    /// The join word of its review.
    pub word: &'static str,
    /// The host's key.
    pub key: &'static str,
    /// Seat tokens of Iris, Nils and Ida.
    pub seats: [&'static str; 3],
}

/// One of each form.
pub const OLD_FILES: [OldFile; 3] = [
    OldFile {
        form: 1,
        word: "stapes-ulna",
        key: "c00d211bdd5d39ef1b2c5e1ac339ae86",
        seats: [
            "6f47d4a74d641450bd027ff0b8fda6ee",
            "b1064714580d72b8c53c01c87a5c9bfc",
            "14f2b719c8496cecb0595cc56c75f37e",
        ],
    },
    OldFile {
        form: 2,
        word: "humerus-palatine",
        key: "c0a8f903b6aed3248322618c66edfb88",
        seats: [
            "c9fbb0b2a30923388b9c09b2560e779b",
            "236d47cadb54642454c1c73cd2038247",
            "da7af3a97580df007c03f66a8653e55a",
        ],
    },
    OldFile {
        form: 3,
        word: "scaphoid-cuboid",
        key: "5953028031f8c430af798332dbf61147",
        seats: [
            "f5677cf3421faa0b06e096ece0afc796",
            "c6dd47320d5646a264111b34ccb06ba8",
            "8db0d1444536e4ccba6f3f58e04ee389",
        ],
    },
];

/// The file as it was, in a folder of its own, and as if its review was touched just now: one of
/// another day would not be taken up.
pub fn put_old_file(form: i64, folder: &Path) -> Result<PathBuf> {
    let reference = Path::new(env!("CARGO_MANIFEST_DIR")).join("reference/data-files");
    let dump = fs::read_to_string(reference.join(format!("form-{form}.sql")))?;
    let data = folder.join("data");
    fs::create_dir(&data)?;
    let path = data.join("myonym.sqlite");
    let file = Connection::open(&path)?;
    file.execute_batch(&dump)?;
    file.execute("UPDATE review SET touched_s = unixepoch()", [])?;
    Ok(path)
}
