//! A small file system of its own, as root on Linux can have one.

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use anyhow::{Context as _, Result, ensure};
use tempfile::TempDir;

/// A mounted file system; dropping it takes it away.
#[derive(Debug)]
pub(crate) struct Mount {
    place: TempDir,
    /// What carries it: `ext4` from a file, or memory.
    pub(crate) kind: &'static str,
}

impl Mount {
    /// One of so many MiB: ext4 through a loop device, or else one in memory.
    pub(crate) fn small(mib: u64) -> Result<Self> {
        let place = TempDir::with_prefix("myonym-mount-")?;
        fs::create_dir(place.path().join("on"))?;
        let kind = match ext4(place.path(), mib) {
            Ok(()) => "ext4",
            Err(no_loop) => {
                let size = format!("size={mib}m");
                let on = place.path().join("on");
                let mounted = run("mount", &["-t", "tmpfs", "-o", &size, "none", text(&on)?]);
                mounted.with_context(|| format!("{no_loop:#}; nor in memory"))?;
                "tmpfs"
            }
        };
        Ok(Self { place, kind })
    }

    /// Makes a name of its own for it.
    #[cfg(unix)]
    pub(crate) fn is_also_at(&self, path: &Path) -> Result<()> {
        Ok(std::os::unix::fs::symlink(self.path(), path)?)
    }

    /// Nothing is mounted there, so that this is never asked for.
    #[cfg(not(unix))]
    pub(crate) fn is_also_at(&self, path: &Path) -> Result<()> {
        anyhow::bail!("{} cannot stand for a file system", path.display())
    }

    fn path(&self) -> PathBuf {
        self.place.path().join("on")
    }
}

impl Drop for Mount {
    /// Lazily: a host that was just killed may still hold a file on it.
    fn drop(&mut self) {
        if let Ok(on) = text(&self.path()) {
            let _ = run("umount", &["-l", on]);
        }
    }
}

fn ext4(place: &Path, mib: u64) -> Result<()> {
    let image = place.join("image");
    File::create_new(&image)?.set_len(mib << 20)?;
    run("mkfs.ext4", &["-q", "-m", "0", "-F", text(&image)?])?;
    run("mount", &["-o", "loop", text(&image)?, text(&place.join("on"))?])
}

/// Runs a program to its end; what it complains of is the error.
pub(crate) fn run(program: &str, arguments: &[&str]) -> Result<()> {
    let mut command = Command::new(program);
    let ran = command.args(arguments).stdin(Stdio::null()).output();
    let ran = ran.with_context(|| format!("no {program}"))?;
    let complaint = String::from_utf8_lossy(&ran.stderr);
    ensure!(ran.status.success(), "{program}: {}", complaint.trim());
    Ok(())
}

/// A path as text, for the command line of another program.
pub(crate) fn text(path: &Path) -> Result<&str> {
    path.to_str().context("a path that is not text")
}
