//! What stands where, and what no file holds.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result, ensure};

/// Everything at the top but dotfiles and the build folder.
const TOP: [&str; 10] = [
    "Cargo.lock",
    "Cargo.toml",
    "DEVELOPERS.md",
    "LICENSE",
    "README.md",
    "client-tui",
    "content",
    "loadtest",
    "server",
    "tests",
];
/// Lines of a source file at most.
const LINES: usize = 600;
/// What would tie the project to the machine it was written on. In pieces, so that this very file
/// does not hold it.
const FORBIDDEN: [&str; 2] = [concat!("/wo", "rk/"), concat!("/ro", "ot/")];

/// The folder of the workspace.
pub(crate) fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// A file by its path from the root.
pub(crate) fn read(path: &str) -> Result<String> {
    fs::read_to_string(root().join(path)).with_context(|| path.to_owned())
}

#[test]
fn the_top_level_holds_what_it_should() -> Result<()> {
    let mut found = BTreeSet::new();
    for entry in fs::read_dir(root())? {
        let name = entry?.file_name().to_string_lossy().into_owned();
        if !name.starts_with('.') && name != "target" {
            found.insert(name);
        }
    }
    assert_eq!(found, BTreeSet::from(TOP.map(ToOwned::to_owned)));
    Ok(())
}

#[test]
fn no_source_file_is_too_long() -> Result<()> {
    for (path, text) in files(".rs")? {
        let lines = text.lines().count();
        ensure!(lines <= LINES, "{path} has {lines} lines: divide it");
    }
    Ok(())
}

#[test]
fn no_file_names_the_machine_or_the_task() -> Result<()> {
    for (path, text) in files("")? {
        if path == "tests/tidy/files.rs" {
            continue;
        }
        let held = FORBIDDEN.iter().find(|word| text.contains(**word));
        ensure!(held.is_none(), "{path} holds {held:?}");
    }
    Ok(())
}

/// Outside tests a value that may be missing is a case to handle, or an invariant to name.
#[test]
fn nothing_is_unwrapped_outside_tests() -> Result<()> {
    let sources = files(".rs")?;
    let tests = test_modules(&sources);
    for (path, text) in &sources {
        let is_test =
            tests.iter().any(|test| path == test || path.starts_with(&format!("{test}/")));
        if is_test || path.starts_with("tests/") || path.contains("/tests/") {
            continue;
        }
        let code = text.split("#[cfg(test)]\nmod tests {").next().unwrap_or(text);
        let place = code
            .lines()
            .position(|line| line.contains(".unwrap()") && !line.trim_start().starts_with("//"));
        ensure!(place.is_none(), "{path}:{} unwraps", place.unwrap_or(0) + 1);
    }
    Ok(())
}

/// Files of modules that are compiled for tests alone, without or with the folder of their own.
fn test_modules(sources: &[(String, String)]) -> BTreeSet<String> {
    let mut modules = BTreeSet::new();
    for (path, text) in sources {
        let path = Path::new(path);
        let stem = path.file_stem().and_then(|stem| stem.to_str()).unwrap_or_default();
        let parent = path.parent().unwrap_or_else(|| Path::new(""));
        let is_root = ["mod", "lib", "main"].contains(&stem);
        let folder = if is_root { parent.to_owned() } else { parent.join(stem) };
        for after in text.split("#[cfg(test)]\n").skip(1) {
            let line = after.lines().next().unwrap_or_default();
            let name = line.strip_suffix(';').and_then(|line| line.rsplit("mod ").next());
            if let Some(name) = name {
                let module = folder.join(name).display().to_string();
                modules.extend([format!("{module}.rs"), module]);
            }
        }
    }
    modules
}

/// Every text file whose name ends so: its path from the root, and its text.
fn files(ending: &str) -> Result<Vec<(String, String)>> {
    let mut found = Vec::new();
    let mut folders = vec![root()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder)? {
            let path = entry?.path();
            let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
            if path.is_dir() {
                if !["target", ".git", "node_modules"].contains(&name.as_str()) {
                    folders.push(path);
                }
            } else if name.ends_with(ending)
                && let Ok(text) = fs::read_to_string(&path)
            {
                found.push((path.strip_prefix(root())?.display().to_string(), text));
            }
        }
    }
    ensure!(!found.is_empty(), "no file ends in {ending}");
    Ok(found)
}
