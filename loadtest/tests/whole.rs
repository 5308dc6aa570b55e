//! The whole program as a user starts it, against a stand-in for the server: one of its own
//! baselines, which says where it listens in the same three lines.

#![cfg(unix)]
#![expect(clippy::unwrap_used, reason = "a test may panic")]

use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use serde_json::Value;

const PROGRAM: &str = env!("CARGO_BIN_EXE_myonym-loadtest");

/// A program that does `line` in a shell, whatever its arguments.
fn stand_in(folder: &Path, line: &str) -> PathBuf {
    let path = folder.join("stand-in");
    fs::write(&path, format!("#!/bin/sh\n{line}\n")).unwrap();
    fs::set_permissions(&path, fs::Permissions::from_mode(0o755)).unwrap();
    path
}

fn loadtest(server: &Path, more: &[&str]) -> Output {
    Command::new(PROGRAM)
        .args(["--students", "10", "--rounds", "2", "--runs", "1", "--window", "50ms"])
        .arg("--server")
        .arg(server)
        .args(more)
        .output()
        .unwrap()
}

#[test]
fn server_and_baselines_are_loaded_alike_and_reported() {
    let folder = tempfile::tempdir().unwrap();
    let server = stand_in(folder.path(), &format!("exec '{PROGRAM}' baseline frames"));
    let json = folder.path().join("result.json");
    let output = loadtest(&server, &["--rooms", "2", "--json", json.to_str().unwrap()]);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));

    let table = String::from_utf8(output.stdout).unwrap();
    for words in
        ["server/floor", "server/frames", "server/keeper", "answer to recorded, p99.9 (us)"]
    {
        assert!(table.contains(words), "{words} is missing:\n{table}");
    }

    let result: Value = serde_json::from_str(&fs::read_to_string(json).unwrap()).unwrap();
    assert_eq!(result["form"], 2);
    let subjects = result["subjects"].as_array().unwrap();
    let names = subjects.iter().map(|subject| &subject["subject"]);
    assert!(names.eq(["server", "floor", "frames", "keeper"]));
    for subject in subjects {
        let counts = &subject["runs"][0]["counts"];
        // Two rooms of ten students, two rounds after the one to warm up.
        for key in ["planned", "sent", "received", "recorded"] {
            assert_eq!(counts[key], 40, "{key} of {subject}");
        }
        // The baselines repeat what the server told: as many messages, as many bytes.
        let bytes = |at: usize| &subjects[at]["runs"][0]["counts"]["bytes"];
        assert_eq!(counts["bytes"], *bytes(0), "{subject}");
        if cfg!(target_os = "linux") {
            let figures = &subject["runs"][0]["figures"];
            assert!(figures["descriptors"].as_f64().unwrap() >= 22.0, "{subject}");
            assert!(figures["cpu_per_message_us"].as_f64().unwrap() > 0.0, "{subject}");
        }
    }
}

#[test]
fn a_server_that_does_not_start_is_an_error_with_its_last_words() {
    let folder = tempfile::tempdir().unwrap();
    let server = stand_in(folder.path(), "echo 'the disk is full' >&2");
    let output = loadtest(&server, &[]);
    assert!(!output.status.success());
    let error = String::from_utf8(output.stderr).unwrap();
    assert!(error.contains("the disk is full"), "{error}");
    assert!(error.contains("did not start"), "{error}");
}

#[test]
fn a_load_that_needs_more_than_its_time_is_refused_before_anything_starts() {
    let output = loadtest(Path::new("/no/such/program"), &["--most", "1s"]);
    assert!(!output.status.success());
    let error = String::from_utf8(output.stderr).unwrap();
    assert!(error.contains("--most"), "{error}");
}

/// Scenarios against a stand-in, and what they left.
fn scenarios(folder: &Path, name: &str) -> (Output, PathBuf) {
    let server = stand_in(folder, &format!("exec '{PROGRAM}' baseline frames"));
    let json = folder.join(name);
    let output = Command::new(PROGRAM)
        .args(["scenarios", "--short", "--runs", "1"])
        .args(["--only", "growth,hall,school,burst,return,join"])
        .arg("--server")
        .arg(server)
        .arg("--json")
        .arg(&json)
        .arg("--plots")
        .arg(folder)
        .output()
        .unwrap();
    (output, json)
}

#[test]
fn scenarios_leave_tables_a_plot_and_what_can_be_compared() {
    let folder = tempfile::tempdir().unwrap();
    let (output, json) = scenarios(folder.path(), "before.json");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let table = String::from_utf8(output.stdout).unwrap();
    for words in
        ["hall: ", "server/floor", "at most 1.15 x floor", "a join, nearly full over empty"]
    {
        assert!(table.contains(words), "{words} is missing:\n{table}");
    }

    let result: Value = serde_json::from_str(&fs::read_to_string(&json).unwrap()).unwrap();
    assert_eq!(result["form"], 1);
    let names = result["scenarios"].as_array().unwrap().iter().map(|s| &s["scenario"]);
    assert!(names.eq(["hall", "school", "burst", "return", "join", "growth"]));
    for scenario in result["scenarios"].as_array().unwrap() {
        assert_eq!(scenario["faults"].as_array().unwrap().len(), 0, "{scenario}");
        // The stand-in is a baseline: whatever is measured of it is measured of the others too, but
        // for its commits, which it does not have.
        for figure in scenario["figures"].as_array().unwrap() {
            let count = |subject: &str| figure[subject].as_array().unwrap().len();
            let disk =
                ["commit", "kept"].iter().any(|of| figure["key"].as_str().unwrap().contains(of));
            let cpu = figure["key"].as_str().unwrap().contains("cpu");
            if cfg!(target_os = "linux") || !cpu {
                let want = usize::from(!disk);
                let counts = ["server", "floor", "frames", "keeper"].map(count);
                assert_eq!(counts, [want; 4], "{figure}");
            }
        }
    }

    let plot = fs::read_to_string(folder.path().join("growth.svg")).unwrap();
    for name in [">server<", ">floor<", ">frames<", ">keeper<"] {
        assert!(plot.contains(name), "{name}");
    }

    let output = Command::new(PROGRAM).arg("compare").args([&json, &json]).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let table = String::from_utf8(output.stdout).unwrap();
    assert!(table.contains("within the spread") && !table.contains("beyond"), "{table}");
}

#[test]
fn what_is_no_result_cannot_be_compared() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("other.json");
    fs::write(&path, r#"{"form":1}"#).unwrap();
    let output = Command::new(PROGRAM).arg("compare").args([&path, &path]).output().unwrap();
    assert!(!output.status.success());
    let error = String::from_utf8(output.stderr).unwrap();
    assert!(error.contains("other.json is no JSON of `scenarios`"), "{error}");
}
