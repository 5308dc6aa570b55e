//! Arrows between the crates, and why each foreign crate is there.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

use anyhow::{Context as _, Result, ensure};
use toml::Table;

use crate::files::{read, root};

/// Each crate's folder, and which of ours it may depend on. Arrows only point down.
const ARROWS: [(&str, &[&str]); 11] = [
    ("content/mechanics", &[]),
    ("content", &["myonym-mechanics"]),
    ("content/picture", &["myonym-content", "myonym-mechanics", "myonym-wire"]),
    ("server/wire", &[]),
    ("server/stats", &[]),
    ("server/engine", &["myonym-content", "myonym-wire"]),
    ("server/insight", &["myonym-content", "myonym-engine", "myonym-stats", "myonym-wire"]),
    ("client-tui", &["myonym-wire"]),
    ("loadtest", &["myonym-content", "myonym-engine", "myonym-wire"]),
    (
        "server/host",
        &[
            "myonym-content",
            "myonym-engine",
            "myonym-insight",
            "myonym-mechanics",
            "myonym-picture",
            "myonym-play",
            // In its tests alone: the recount, which knows none of its rules.
            "myonym-tests",
            "myonym-wire",
        ],
    ),
    ("tests", &["myonym-content", "myonym-engine", "myonym-insight", "myonym-wire"]),
];

/// Crates without I/O, clock or log, and what would bring them in.
const PURE: [&str; 7] = [
    "content/mechanics",
    "content",
    "content/picture",
    "server/wire",
    "server/stats",
    "server/engine",
    "server/insight",
];
const IMPURE: [&str; 7] =
    ["tokio", "tokio-tungstenite", "axum", "hyper", "rusqlite", "tracing", "directories"];

#[test]
fn the_crates_are_those_that_are_known() -> Result<()> {
    let mut found = Vec::new();
    for folder in ["", "content", "server"] {
        for entry in fs::read_dir(root().join(folder))? {
            let entry = entry?;
            if entry.path().join("Cargo.toml").exists() {
                let name = entry.file_name().into_string().ok().context("an odd name")?;
                found.push(if folder.is_empty() { name } else { format!("{folder}/{name}") });
            }
        }
    }
    found.sort_unstable();
    let mut known = ARROWS.map(|(folder, _)| folder);
    known.sort_unstable();
    assert_eq!(found, known);
    Ok(())
}

#[test]
fn arrows_only_point_down() -> Result<()> {
    for (folder, allowed) in ARROWS {
        for name in dependencies(folder)?.into_keys().filter(|name| name.starts_with("myonym")) {
            ensure!(allowed.contains(&name.as_str()), "{folder} must not depend on {name}");
        }
    }
    for folder in PURE {
        let found = dependencies(folder)?;
        let impure = IMPURE.iter().find(|name| found.contains_key(**name));
        ensure!(impure.is_none(), "{folder} does no I/O, so it cannot need {impure:?}");
    }
    Ok(())
}

#[test]
fn every_package_has_its_reason_in_the_contributors_guide() -> Result<()> {
    let guide = read("DEVELOPERS.md")?;
    let table = guide.split("## Why each package is there").nth(1).context("no such chapter")?;
    let rows = table.lines().take_while(|line| !line.starts_with("## "));
    let names = rows.filter_map(|row| row.strip_prefix("| ")?.split(" | ").next()).skip(2);
    // A row may speak of several, and say more of one in brackets.
    let names = names.flat_map(|cell| cell.split(", "));
    let reasons: BTreeSet<&str> = names.filter_map(|name| name.split(" (").next()).collect();
    let mut used = BTreeSet::new();
    for (folder, _) in ARROWS {
        for name in dependencies(folder)?.into_keys().filter(|name| !name.starts_with("myonym")) {
            let told = reasons.contains(name.as_str());
            ensure!(told, "{folder}: DEVELOPERS.md does not say why {name} is there");
            used.insert(name);
        }
    }
    let unused = reasons.into_iter().find(|name| !used.contains(*name));
    ensure!(unused.is_none(), "DEVELOPERS.md speaks of {unused:?}, which nobody uses");
    Ok(())
}

#[test]
fn crates_share_the_workspace_settings() -> Result<()> {
    for (folder, _) in ARROWS {
        let manifest = manifest(folder)?;
        let shared = |table: &str, key: &str| {
            let value = manifest.get(table).and_then(|table| table.get(key));
            value.and_then(|value| value.get("workspace").unwrap_or(value).as_bool())
        };
        for key in ["version", "edition", "rust-version", "license", "publish"] {
            ensure!(shared("package", key) == Some(true), "{folder}: {key} is its own");
        }
        ensure!(shared("lints", "workspace") == Some(true), "{folder}: lints are its own");
        for (name, kind) in dependencies(folder)? {
            let own = manifest.get(&kind).and_then(|table| table.get(&name));
            let shared = own.and_then(|own| own.get("workspace")).and_then(toml::Value::as_bool);
            ensure!(shared == Some(true), "{folder}: the version of {name} is its own");
        }
    }
    Ok(())
}

/// A crate's direct dependencies, each with the table that it stands in.
fn dependencies(folder: &str) -> Result<BTreeMap<String, String>> {
    let manifest = manifest(folder)?;
    let mut found = BTreeMap::new();
    for kind in ["dependencies", "dev-dependencies", "build-dependencies"] {
        let table = manifest.get(kind).and_then(toml::Value::as_table);
        for name in table.into_iter().flat_map(Table::keys) {
            found.entry(name.clone()).or_insert_with(|| kind.to_owned());
        }
    }
    Ok(found)
}

fn manifest(folder: &str) -> Result<Table> {
    let path = format!("{folder}/Cargo.toml");
    read(&path)?.parse().context(path)
}
