//! Stands between a host and its disk: a shim in place of the C library's calls (`slow_sync.c`).

use std::fs::{self, File};
use std::path::PathBuf;

use anyhow::{Result, ensure};
use myonym_tests::TestHost;
use tempfile::TempDir;

use crate::mount;

/// The shim, and the file that makes the next sync fail.
#[derive(Debug)]
pub(crate) struct Shim {
    _folder: TempDir,
    library: PathBuf,
    fail: PathBuf,
}

impl Shim {
    /// Compiles it; that needs Linux and a C compiler.
    pub(crate) fn build() -> Result<Self> {
        ensure!(cfg!(target_os = "linux"), "the shim is for Linux");
        let folder = TempDir::with_prefix("myonym-shim-")?;
        let source = folder.path().join("slow_sync.c");
        let library = folder.path().join("slow_sync.so");
        fs::write(&source, include_str!("slow_sync.c"))?;
        let (from, to) = (mount::text(&source)?, mount::text(&library)?);
        mount::run("cc", &["-shared", "-fPIC", "-O1", "-o", to, from, "-ldl"])?;
        let fail = folder.path().join("fail");
        Ok(Self { _folder: folder, library, fail })
    }

    /// From its next start on each sync of a host takes so many milliseconds more.
    pub(crate) fn stands_before(&self, host: &mut TestHost, slow_ms: &str) -> Result<()> {
        host.run_with(&[
            ("LD_PRELOAD", mount::text(&self.library)?),
            ("MYONYM_TEST_SYNC_MS", slow_ms),
            ("MYONYM_TEST_SYNC_FAIL", mount::text(&self.fail)?),
        ]);
        Ok(())
    }

    /// The next sync fails, and none after it.
    pub(crate) fn fail_once(&self) -> Result<()> {
        File::create_new(&self.fail)?;
        Ok(())
    }
}
