//! Any text as a data file (muscles, landmarks, lists) and as a muscle list of one's own: what is
//! wrong is told with its place in the text.
#![no_main]

use libfuzzer_sys::fuzz_target;
use myonym_content::problem::{Problem, SourceFile};
use myonym_content::{Catalogue, OwnList};

fn placed(problems: &[Problem], file: &SourceFile) {
    let lines = file.text.lines().count() + 1;
    for problem in problems {
        assert!(problem.line >= 1 && problem.column >= 1 && !problem.message.is_empty());
        assert!(problem.file != file.path || problem.line <= lines, "{problem}");
    }
}

fuzz_target!(|text: &str| {
    let file = SourceFile { path: "own.toml".to_owned(), text: text.to_owned() };
    // Each name that is wrong is held against all others, so a few lines are plenty.
    let few: Vec<&str> = text.split_inclusive('\n').take(4).collect();
    let list = SourceFile { path: "own.txt".to_owned(), text: few.concat() };
    if let Err(problems) = OwnList::read(&list, Catalogue::bundled()) {
        assert!(!problems.is_empty());
        placed(&problems, &list);
    }
    // Alone, which is soon read; with all the bundled ones it is in `content/tests/untrusted.rs`.
    if let Err(problems) = Catalogue::load(std::slice::from_ref(&file)) {
        assert!(!problems.is_empty());
        placed(&problems, &file);
    }
});
