//! What is wrong with a data file, and where.

use std::fmt;

use strsim::osa_distance;

/// A data file as text. This crate reads no disk: whoever opens the file hands it in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SourceFile {
    /// Path as the reader knows it, such as `content/muscles/shoulder.toml`.
    pub path: String,
    /// The whole text.
    pub text: String,
}

/// One thing that is wrong with a data file.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Problem {
    /// Path of the file.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// What is wrong: a lower-case fragment without a full stop.
    pub message: String,
    /// The valid word closest to the wrong one, where there is one.
    pub nearest: Option<String>,
}

impl Problem {
    /// A problem at a byte of a file.
    pub fn at(file: &SourceFile, byte: usize, message: String, nearest: Option<String>) -> Self {
        let (line, column) = line_and_column(&file.text, byte);
        Self { file: file.path.clone(), line, column, message, nearest }
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { file, line, column, message, nearest } = self;
        write!(f, "{file}:{line}:{column}: {message}")?;
        match nearest {
            Some(nearest) => write!(f, "; nearest: `{nearest}`"),
            None => Ok(()),
        }
    }
}

/// Where a value stands: which of the files, and the byte in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub(crate) struct Place {
    pub(crate) file: usize,
    pub(crate) byte: usize,
}

/// Collects problems while files are read, so that one never hides another.
#[derive(Debug)]
pub(crate) struct Report<'a> {
    files: &'a [SourceFile],
    problems: Vec<Problem>,
    muted: Vec<usize>,
}

impl<'a> Report<'a> {
    pub(crate) fn new(files: &'a [SourceFile]) -> Self {
        Self { files, problems: Vec::new(), muted: Vec::new() }
    }

    pub(crate) fn add(&mut self, place: Place, message: impl Into<String>) {
        self.push(place, message.into(), None);
    }

    /// Reports a word that is none of the valid ones, and the closest of those.
    pub(crate) fn add_unknown<'v>(
        &mut self,
        place: Place,
        kind: &str,
        word: &str,
        valid: impl Iterator<Item = &'v str>,
    ) {
        let nearest = nearest(word, valid).map(ToOwned::to_owned);
        self.push(place, format!("unknown {kind} `{word}`"), nearest);
    }

    /// Keeps silent about a file from here on: what is left of it after a syntax error would
    /// only give errors that follow from the first.
    pub(crate) fn mute(&mut self, file: usize) {
        self.muted.push(file);
    }

    /// The place in words, such as `content/muscles/shoulder.toml:12:5`.
    pub(crate) fn words(&self, place: Place) -> String {
        let (line, column) = self.line_and_column(place);
        format!("{}:{line}:{column}", self.files[place.file].path)
    }

    /// All problems by file, line and column.
    pub(crate) fn finish(mut self) -> Vec<Problem> {
        self.problems.sort();
        self.problems.dedup();
        self.problems
    }

    fn push(&mut self, place: Place, message: String, nearest: Option<String>) {
        if self.muted.contains(&place.file) {
            return;
        }
        let (line, column) = self.line_and_column(place);
        let file = self.files[place.file].path.clone();
        self.problems.push(Problem { file, line, column, message, nearest });
    }

    fn line_and_column(&self, place: Place) -> (usize, usize) {
        line_and_column(&self.files[place.file].text, place.byte)
    }
}

/// Line and column of a byte, both from 1.
fn line_and_column(text: &str, byte: usize) -> (usize, usize) {
    let before = &text[..text.floor_char_boundary(byte)];
    let line = before.matches('\n').count() + 1;
    let start = before.rfind('\n').map_or(0, |newline| newline + 1);
    (line, before[start..].chars().count() + 1)
}

/// The valid word closest to a mistyped one; `None` where none is close enough to help.
pub fn nearest<'v>(word: &str, valid: impl Iterator<Item = &'v str>) -> Option<&'v str> {
    // A word cut short (`coracoid`) or drawn out is as good as one letter wrong.
    let cut = |candidate: &str| word.len() > 2 && candidate.contains(word);
    let drawn_out = |candidate: &str| candidate.len() > 2 && word.contains(candidate);
    let distance = |candidate: &str| {
        if cut(candidate) || drawn_out(candidate) { 1 } else { osa_distance(word, candidate) }
    };
    valid
        .map(|candidate| (distance(candidate), candidate))
        .filter(|(distance, candidate)| distance * 3 <= candidate.len().max(word.len()))
        .min()
        .map(|(_, candidate)| candidate)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nearest_word() {
        let valid = ["lesser-tubercle", "greater-tubercle", "acromion"];
        let check = |word: &str, expected: Option<&str>| {
            assert_eq!(nearest(word, valid.into_iter()), expected, "{word}");
        };
        check("lesser-tubercel", Some("lesser-tubercle"));
        check("acromium", Some("acromion"));
        check("lesser", Some("lesser-tubercle"));
        check("the-acromion", Some("acromion"));
        check("femur", None);
        check("", None);
    }

    #[test]
    fn column_counts_characters_of_its_line() {
        let files =
            [SourceFile { path: "a.toml".to_owned(), text: "x = 1\né = \"ß\" # y".to_owned() }];
        let mut report = Report::new(&files);
        let byte = files[0].text.find('#').unwrap();
        report.add(Place { file: 0, byte }, "here");
        report.add(Place { file: 0, byte: 999 }, "past the end");
        let places: Vec<_> = report.finish().iter().map(|p| (p.line, p.column)).collect();
        assert_eq!(places, [(2, 9), (2, 12)]);
    }
}
