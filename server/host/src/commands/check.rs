//! `myonym check`.

use std::fs;
use std::process::ExitCode;

use myonym_content::check::{check, check_actions};
use myonym_content::lint::{Gravity, lint_own};
use myonym_content::problem::{Problem, SourceFile};
use myonym_content::{Catalogue, Course, OwnList};

use super::{complain, say};
use crate::cli::CheckArgs;

/// Checks files together with the bundled content; every problem is told at once.
pub(super) fn run(args: &CheckArgs) -> ExitCode {
    let mut files = Vec::new();
    let mut problems = Vec::new();
    for path in &args.files {
        let name = path.display().to_string();
        match fs::read_to_string(path) {
            Ok(text) => files.push(SourceFile { path: name, text }),
            Err(fault) => problems.push(Problem {
                file: name,
                line: 1,
                column: 1,
                message: format!("cannot be read: {fault}"),
                nearest: None,
            }),
        }
    }
    let (own, files): (Vec<_>, Vec<_>) =
        files.into_iter().partition(|file| file.path.to_lowercase().ends_with(".txt"));
    problems.extend(check(&files));
    problems.extend(own.iter().flat_map(check_own_list));
    for problem in &problems {
        complain(&problem.to_string());
    }
    if !problems.is_empty() {
        let count = problems.len();
        complain(&format!("{count} problem{} found", if count == 1 { "" } else { "s" }));
        return ExitCode::FAILURE;
    }
    if !tell_actions(&files) {
        return ExitCode::FAILURE;
    }
    let catalogue = Catalogue::bundled();
    match args.files.len() {
        0 => say(&format!(
            "bundled content: no problems ({} muscles with facts, {} lists)",
            catalogue.muscles().count(),
            catalogue.lists().count()
        )),
        1 => say("1 file checked: no problems"),
        n => say(&format!("{n} files checked: no problems")),
    }
    ExitCode::SUCCESS
}

/// Tells what geometry says to the claimed actions; false if it plainly opposes one.
fn tell_actions(files: &[SourceFile]) -> bool {
    let found = check_actions(files);
    let mut counts = [0_usize; 3];
    for (gravity, finding) in &found {
        let (index, word) = match gravity {
            Gravity::Error => (0, "error"),
            Gravity::Warning => (1, "warning"),
            Gravity::Information => (2, "information"),
        };
        counts[index] += 1;
        let line = format!("{word}: {finding}");
        if *gravity == Gravity::Information { say(&line) } else { complain(&line) }
    }
    let [errors, warnings, others] = counts;
    if !found.is_empty() {
        say(&format!(
            "actions held against where muscles are attached: {errors} plainly opposed (error), \
             {warnings} perhaps opposed (warning), {others} strong or odd ones to know of"
        ));
    }
    errors == 0
}

/// What geometry says to the actions that a list words for itself; plain opposition is a problem,
/// a lesser one is only told.
fn own_actions(file: &SourceFile, catalogue: &Catalogue, course: &Course) -> Vec<Problem> {
    let mut problems = Vec::new();
    for (fact, gravity, message) in lint_own(catalogue, course) {
        let at = file.text.lines().position(|line| line.contains(&fact.wording));
        let line = at.map_or(1, |at| at + 1);
        let problem = Problem { file: file.path.clone(), line, column: 1, message, nearest: None };
        if gravity == Gravity::Error {
            problems.push(problem);
        } else {
            complain(&format!("warning: {problem}"));
        }
    }
    problems
}

/// The problems of an instructor's own list, read against the bundled content.
fn check_own_list(file: &SourceFile) -> Vec<Problem> {
    let catalogue = Catalogue::bundled();
    let own = match OwnList::read(file, catalogue) {
        Ok(own) => own,
        Err(problems) => return problems,
    };
    match Course::of_own(catalogue, &own) {
        Ok(course) => own_actions(file, catalogue, &course),
        Err(fault) => vec![Problem {
            file: file.path.clone(),
            line: 1,
            column: 1,
            message: fault.to_string(),
            nearest: None,
        }],
    }
}
