//! `myonym check`.

use std::fs;
use std::process::ExitCode;

use myonym_content::Catalogue;
use myonym_content::problem::{Problem, SourceFile};

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
    problems.extend(myonym_content::check::check(&files));
    for problem in &problems {
        complain(&problem.to_string());
    }
    if !problems.is_empty() {
        let count = problems.len();
        complain(&format!("{count} problem{} found", if count == 1 { "" } else { "s" }));
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
