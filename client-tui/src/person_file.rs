//! The secret by which one device is known again from review to review, without an account.
//!
//! One small file in the user's own state folder, readable by the user alone. It holds nothing but
//! random digits; deleting it makes the next review a fresh start.

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use myonym_wire::PersonToken;
use rand::TryRng as _;
use rand::rngs::SysRng;

/// The user's secret, made at first; `None` where it cannot be kept, since one that changes each
/// time is of no use.
pub(crate) fn of_user() -> Option<PersonToken> {
    let dirs = directories::ProjectDirs::from("", "", "myonym")?;
    let folder = dirs.state_dir().unwrap_or_else(|| dirs.data_local_dir());
    at(&folder.join("person"))
}

/// The secret in this file.
fn at(file: &Path) -> Option<PersonToken> {
    if let Some(kept) = read(file) {
        return Some(kept);
    }
    let mut bits = [0; 16];
    SysRng.try_fill_bytes(&mut bits).ok()?;
    let fresh = PersonToken::from_bits(u128::from_le_bytes(bits));
    match write(file, &fresh) {
        // Whoever wrote at the same time is read as well: the last one counts for both.
        Ok(()) => read(file),
        Err(error) => {
            tracing::warn!(%error, "the secret is not kept on disk, so none is told");
            None
        }
    }
}

fn read(file: &Path) -> Option<PersonToken> {
    fs::read_to_string(file).ok()?.trim().parse().ok()
}

fn write(file: &Path, token: &PersonToken) -> io::Result<()> {
    if let Some(folder) = file.parent() {
        fs::create_dir_all(folder)?;
    }
    // Written beside and then moved, so that a half-written file is never read.
    let fresh: PathBuf = file.with_extension(format!("new{}", std::process::id()));
    let mut options = fs::OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut out = options.open(&fresh)?;
    writeln!(out, "{}", token.reveal())?;
    out.sync_all()?;
    fs::rename(&fresh, file)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_secret_is_made_once_and_stays() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("deep/person");
        let made = at(&file).unwrap();
        assert_eq!(at(&file), Some(made.clone()));
        let other = tempfile::tempdir().unwrap();
        assert_ne!(at(&other.path().join("person")), Some(made));
    }

    #[test]
    fn a_spoilt_file_is_a_fresh_start() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("person");
        for text in ["", "short", "0123456789ABCDEF0123456789ABCDEF"] {
            fs::write(&file, text).unwrap();
            let made = at(&file).unwrap();
            assert_ne!(made.reveal(), text);
            assert_eq!(at(&file), Some(made));
        }
    }

    #[test]
    fn where_nothing_can_be_kept_there_is_none() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("a-file"), "").unwrap();
        assert_eq!(at(&folder.path().join("a-file/person")), None);
    }

    #[cfg(unix)]
    #[test]
    fn nobody_else_may_read_it() {
        use std::os::unix::fs::PermissionsExt as _;
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("person");
        at(&file).unwrap();
        assert_eq!(fs::metadata(&file).unwrap().permissions().mode() & 0o777, 0o600);
    }
}
