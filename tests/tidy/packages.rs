//! Foreign packages: under which licences, from where, how many of one, and none with a fault that is
//! known and mended.

use std::collections::{BTreeMap, BTreeSet};
use std::env;
use std::ffi::OsString;
use std::process::Command;

use anyhow::{Context as _, Result, ensure};
use serde_json::Value;
use toml::Table;

use crate::files::{read, root};

/// Packages of which a second version would double code of ours, or split a type that crates hand to
/// each other.
const ONCE: [&str; 18] = [
    "axum",
    "bytes",
    "clap",
    "crossterm",
    "http",
    "hyper",
    "libsqlite3-sys",
    "rand",
    "ratatui",
    "ring",
    "rusqlite",
    "rustls",
    "rustls-webpki",
    "serde",
    "serde_json",
    "tokio",
    "tungstenite",
    "uuid",
];

/// Faults that would concern a server on the open internet: package, the version that mends it, and the
/// advisory. Source: the `RustSec` advisory database, August 2026.
const MENDED: [(&str, &str, &str); 5] = [
    ("tungstenite", "0.20.1", "RUSTSEC-2023-0065"),
    ("rustls", "0.23.18", "RUSTSEC-2024-0399"),
    ("tokio", "1.44.2", "RUSTSEC-2025-0023"),
    ("bytes", "1.11.1", "RUSTSEC-2026-0007"),
    ("rustls-webpki", "0.103.13", "RUSTSEC-2026-0104"),
];
/// `SQLite` 3.51.3, as it numbers itself.
const SQLITE: i32 = 3_051_003;

#[test]
fn licences_are_among_those_allowed() -> Result<()> {
    let allowed = allowed()?;
    for package in packages()? {
        let name = package["name"].as_str().context("a package without a name")?;
        let licence = package["license"].as_str();
        let licence = licence.with_context(|| format!("{name} names no licence"))?;
        ensure!(
            holds(licence, &allowed),
            "{name} is under {licence}, which .deny.toml does not allow"
        );
    }
    Ok(())
}

/// Cargo.lock writes the default registry like any other, so: all from one, and none is named anywhere.
#[test]
fn packages_come_from_the_default_registry_alone() -> Result<()> {
    let lock = locked()?;
    let sources: BTreeSet<&str> =
        lock.iter().filter_map(|package| package.get("source")?.as_str()).collect();
    ensure!(sources.len() == 1, "several sources: {sources:?}");
    ensure!(sources.iter().all(|source| source.starts_with("registry+")), "{sources:?}");
    for package in &lock {
        let is_own = package.get("source").is_none();
        let name = package.get("name").and_then(toml::Value::as_str).unwrap_or_default();
        ensure!(!is_own || name.starts_with("myonym"), "{name} comes from a folder");
    }
    for settings in [".cargo/config.toml", ".cargo/config"] {
        ensure!(!root().join(settings).exists(), "{settings} may name another registry");
    }
    let workspace: Table = read("Cargo.toml")?.parse()?;
    let shared = workspace["workspace"]["dependencies"].as_table().context("no dependencies")?;
    for (name, wanted) in shared {
        let other = ["registry", "git"].into_iter().find(|key| wanted.get(key).is_some());
        ensure!(other.is_none(), "{name} names another source: {other:?}");
        let version = wanted.as_str().or_else(|| wanted.get("version")?.as_str());
        ensure!(version != Some("*"), "{name} is of any version");
    }
    Ok(())
}

#[test]
fn key_packages_are_there_once() -> Result<()> {
    let versions = versions()?;
    for name in ONCE {
        let found = versions.get(name).with_context(|| format!("{name} is not there"))?;
        ensure!(found.len() == 1, "{name} is there several times: {found:?}");
    }
    Ok(())
}

#[test]
fn faults_that_are_known_are_mended() -> Result<()> {
    let versions = versions()?;
    for (name, least, advisory) in MENDED {
        for found in versions.get(name).with_context(|| format!("{name} is not there"))? {
            let is_mended = numbers(found)? >= numbers(least)?;
            ensure!(is_mended, "{name} {found}: {advisory} is mended in {least}");
        }
    }
    let sqlite = rusqlite::version_number();
    ensure!(sqlite >= SQLITE, "SQLite {} is older than 3.51.3", rusqlite::version());
    Ok(())
}

/// SPDX licence expressions (SPDX specification 2.3, annex D), and the old `/` for a choice.
#[test]
fn expressions_are_read_as_they_are_meant() {
    let allowed = BTreeSet::from(["MIT".to_owned(), "ISC".to_owned()]);
    let check = |text: &str, want: bool| assert_eq!(holds(text, &allowed), want, "{text}");
    check("MIT", true);
    check("GPL-3.0-only", false);
    check("GPL-3.0-only OR MIT", true);
    check("GPL-3.0-only/MIT", true);
    check("MIT AND GPL-3.0-only", false);
    check("MIT AND ISC", true);
    check("MIT AND ISC OR GPL-3.0-only", true);
    check("GPL-3.0-only OR MIT AND GPL-2.0-only", false);
    check("(GPL-3.0-only OR MIT) AND ISC", true);
    check("(MIT OR ISC) AND GPL-3.0-only", false);
    check("MIT WITH Some-exception", false);
    check("", false);
}

/// Whether an expression can be kept to with these licences alone.
fn holds(expression: &str, allowed: &BTreeSet<String>) -> bool {
    let spaced = expression.replace('(', " ( ").replace(')', " ) ").replace('/', " OR ");
    let mut words = spaced.split_whitespace().collect::<Vec<_>>().into_iter().peekable();
    let holds = any(&mut words, allowed);
    holds && words.next().is_none()
}

type Words<'a> = std::iter::Peekable<std::vec::IntoIter<&'a str>>;

fn any(words: &mut Words<'_>, allowed: &BTreeSet<String>) -> bool {
    let mut holds = all(words, allowed);
    while words.next_if_eq(&"OR").is_some() {
        holds |= all(words, allowed);
    }
    holds
}

fn all(words: &mut Words<'_>, allowed: &BTreeSet<String>) -> bool {
    let mut holds = one(words, allowed);
    while words.next_if_eq(&"AND").is_some() {
        holds &= one(words, allowed);
    }
    holds
}

fn one(words: &mut Words<'_>, allowed: &BTreeSet<String>) -> bool {
    if words.next_if_eq(&"(").is_some() {
        let holds = any(words, allowed);
        return words.next_if_eq(&")").is_some() && holds;
    }
    let Some(mut licence) = words.next().map(ToOwned::to_owned) else { return false };
    if words.next_if_eq(&"WITH").is_some() {
        licence = format!("{licence} WITH {}", words.next().unwrap_or_default());
    }
    allowed.contains(&licence)
}

fn allowed() -> Result<BTreeSet<String>> {
    let settings: Table = read(".deny.toml")?.parse()?;
    let allowed = settings["licenses"]["allow"].as_array().context("no list")?;
    Ok(allowed.iter().filter_map(|licence| licence.as_str().map(ToOwned::to_owned)).collect())
}

/// Packages that this machine builds with: those of other systems may not be on it.
fn packages() -> Result<Vec<Value>> {
    let cargo = env::var_os("CARGO").unwrap_or_else(|| OsString::from("cargo"));
    let host = format!("{}-", env::consts::ARCH);
    let told = Command::new(&cargo).arg("-vV").output()?;
    let told = String::from_utf8(told.stdout)?;
    let triple = told.lines().find_map(|line| line.strip_prefix("host: ")).context("no host")?;
    ensure!(triple.starts_with(&host), "an odd machine: {triple}");
    let output = Command::new(&cargo)
        .args(["metadata", "--format-version", "1", "--locked", "--offline"])
        .args(["--filter-platform", triple])
        .current_dir(root())
        .output()?;
    let fault = String::from_utf8_lossy(&output.stderr);
    ensure!(output.status.success(), "cargo metadata: {fault}");
    let told: Value = serde_json::from_slice(&output.stdout)?;
    let packages = told["packages"].as_array().context("no packages")?;
    ensure!(packages.len() > 100, "only {} packages", packages.len());
    Ok(packages.clone())
}

fn locked() -> Result<Vec<toml::Value>> {
    let lock: Table = read("Cargo.lock")?.parse()?;
    Ok(lock["package"].as_array().context("no packages")?.clone())
}

/// All versions of each package, on whatever system.
fn versions() -> Result<BTreeMap<String, Vec<String>>> {
    let mut versions: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for package in locked()? {
        let text = |key: &str| package.get(key)?.as_str().map(ToOwned::to_owned);
        let (name, version) = text("name").zip(text("version")).context("an odd package")?;
        versions.entry(name).or_default().push(version);
    }
    Ok(versions)
}

/// The three numbers of a version; what comes before one (`-alpha`) is not used here.
fn numbers(version: &str) -> Result<Vec<u64>> {
    let plain = version.split('+').next().unwrap_or(version);
    plain.split('.').map(|part| Ok(part.parse()?)).collect()
}
