//! An instructor's own muscle list: a short text file of names, typed in any accepted form.
//!
//! ```text
//! # A remark.
//! name: Upper limb practical
//! level: full
//! hide: innervation
//! prefer: gray1918
//!
//! teres minor
//! M. deltoideus
//! lats
//!     also: broadest of the back
//! pectoralis minor
//!     origin: ribs 2-5 [course handbook, week 3]
//! ```
//!
//! Settings come first, each on a line of its own. Then each line names a muscle. Lines that are
//! set in belong to the muscle above: `also` adds names that the course accepts, and `origin`,
//! `insertion`, `action` and `nerve` put the course's own wording, with its source in brackets, in
//! the place of the bundled fact. The bundled data stay as they are.

use std::collections::{BTreeMap, BTreeSet};

use crate::catalogue::Catalogue;
use crate::list::{FactKind, MuscleList};
use crate::model::{Level, ListKey, MuscleKey, SourceKey};
use crate::name::{NameIndex, Resolution, fold};
use crate::problem::{Problem, SourceFile, nearest};

/// A list of the instructor's own, with what the course says in its own words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OwnList {
    /// The muscles, level and hidden kinds.
    pub list: MuscleList,
    /// The course's own words.
    pub words: CourseWords,
}

/// What a course adds to the bundled content without touching it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct CourseWords {
    /// Further names that count, by muscle.
    pub also: BTreeMap<MuscleKey, Vec<String>>,
    /// Facts in the course's own wording.
    pub facts: Vec<OwnFact>,
    /// The source whose form is told where sources differ.
    pub prefer: Option<SourceKey>,
}

/// A fact in the course's own wording.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OwnFact {
    /// Whose.
    pub muscle: MuscleKey,
    /// What it takes the place of.
    pub about: OwnAbout,
    /// The wording, such as `ribs 2-5`.
    pub wording: String,
    /// Where the course has it from.
    pub source: String,
}

/// What a fact of the course's own is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum OwnAbout {
    /// Its origin.
    Origin,
    /// Its insertion.
    Insertion,
    /// What it does: `draws the scapula forwards`.
    Action,
    /// Its nerve.
    Nerve,
}

impl OwnList {
    /// Reads a list.
    ///
    /// # Errors
    ///
    /// Every line that cannot be read or names no muscle, with the nearest names.
    pub fn read(file: &SourceFile, catalogue: &Catalogue) -> Result<Self, Vec<Problem>> {
        let mut reader = Reader::new(file, catalogue);
        for (at, line) in (1..).zip(file.text.lines()) {
            reader.line(at, line);
        }
        reader.finish()
    }
}

struct Reader<'a> {
    file: &'a SourceFile,
    catalogue: &'a Catalogue,
    index: NameIndex,
    name: Option<String>,
    level: Level,
    hide: Vec<FactKind>,
    words: CourseWords,
    muscles: Vec<MuscleKey>,
    /// The line on which each muscle was named.
    named_at: BTreeMap<MuscleKey, usize>,
    problems: Vec<Problem>,
}

impl<'a> Reader<'a> {
    fn new(file: &'a SourceFile, catalogue: &'a Catalogue) -> Self {
        Self {
            file,
            catalogue,
            index: NameIndex::of(catalogue),
            name: None,
            level: Level::default(),
            hide: Vec::new(),
            words: CourseWords::default(),
            muscles: Vec::new(),
            named_at: BTreeMap::new(),
            problems: Vec::new(),
        }
    }

    fn line(&mut self, at: usize, line: &str) {
        let said = line.split('#').next().unwrap_or_default().trim_end();
        let text = said.trim_start();
        if text.is_empty() {
            return;
        }
        let column = said.chars().count() - text.chars().count() + 1;
        let set_in = column > 1;
        match (text.split_once(':'), set_in) {
            (Some((word, value)), true) => self.detail(at, column, word.trim(), value.trim()),
            (Some((word, value)), false) => self.setting(at, word.trim(), value.trim()),
            (None, _) => self.muscle(at, column, text),
        }
    }

    fn setting(&mut self, at: usize, word: &str, value: &str) {
        if !self.muscles.is_empty() {
            let message = "settings stand before the first muscle; set a muscle's own lines in";
            return self.problem(at, 1, message.to_owned(), None);
        }
        match word.to_lowercase().as_str() {
            "name" => self.name = Some(value.to_owned()),
            "level" => match value.to_lowercase().as_str() {
                "introductory" => self.level = Level::Introductory,
                "full" => self.level = Level::Full,
                other => self.unknown((at, 1), "level", other, &["introductory", "full"]),
            },
            "hide" => value.split(',').for_each(|kind| self.hide_kind(at, kind.trim())),
            "prefer" => self.prefer(at, value),
            other => self.unknown((at, 1), "setting", other, &["name", "level", "hide", "prefer"]),
        }
    }

    fn hide_kind(&mut self, at: usize, kind: &str) {
        match kind.to_lowercase().as_str() {
            "action" => self.hide.push(FactKind::Action),
            "attachment" => self.hide.push(FactKind::Attachment),
            "innervation" => self.hide.push(FactKind::Innervation),
            other => {
                self.unknown(
                    (at, 1),
                    "kind of fact",
                    other,
                    &["action", "attachment", "innervation"],
                );
            }
        }
    }

    fn prefer(&mut self, at: usize, source: &str) {
        let key = SourceKey::new(source);
        if self.catalogue.vocabulary.sources.contains_key(&key) {
            self.words.prefer = Some(key);
        } else {
            let known: Vec<&str> =
                self.catalogue.vocabulary.sources.keys().map(SourceKey::as_str).collect();
            self.unknown((at, 1), "source", source, &known);
        }
    }

    fn muscle(&mut self, at: usize, column: usize, typed: &str) {
        let Some(muscle) = self.resolve(at, column, typed) else { return };
        if self.catalogue.muscle(&muscle).is_none() {
            let message = format!("the facts of `{typed}` are not in yet: leave it out");
            return self.problem(at, column, message, None);
        }
        if let Some(first) = self.named_at.get(&muscle) {
            let message = format!("`{typed}` is already on line {first}");
            return self.problem(at, column, message, None);
        }
        self.named_at.insert(muscle.clone(), at);
        self.muscles.push(muscle);
    }

    fn resolve(&mut self, at: usize, column: usize, typed: &str) -> Option<MuscleKey> {
        let called = |keys: &[MuscleKey]| {
            let names = keys.iter().filter_map(|key| self.index.name_of(key));
            names.collect::<Vec<_>>().join(", ")
        };
        let (message, nearest) = match self.index.resolve(typed) {
            Resolution::Exact { muscle } | Resolution::Misspelt { muscle, .. } => {
                return Some(muscle);
            }
            Resolution::WhichOne { among } => {
                (format!("`{typed}` fits several muscles: {}", called(&among)), None)
            }
            Resolution::Unknown { nearest } => (
                format!("no muscle is called `{typed}`"),
                Some(called(&nearest)).filter(|names| !names.is_empty()),
            ),
            Resolution::Empty => (format!("`{typed}` is no name"), None),
        };
        self.problem(at, column, message, nearest);
        None
    }

    fn detail(&mut self, at: usize, column: usize, word: &str, value: &str) {
        let Some(muscle) = self.muscles.last().cloned() else {
            let message = "this line is set in, but no muscle stands above it".to_owned();
            return self.problem(at, column, message, None);
        };
        let about = match word.to_lowercase().as_str() {
            "also" => return self.also(at, column, &muscle, value),
            "origin" => OwnAbout::Origin,
            "insertion" => OwnAbout::Insertion,
            "action" => OwnAbout::Action,
            "nerve" => OwnAbout::Nerve,
            other => {
                let known = ["also", "origin", "insertion", "action", "nerve"];
                return self.unknown((at, column), "word", other, &known);
            }
        };
        let sourced = value.strip_suffix(']').and_then(|value| value.rsplit_once('['));
        match sourced.map(|(wording, source)| (wording.trim(), source.trim())) {
            Some((wording, source)) if !wording.is_empty() && !source.is_empty() => {
                let (wording, source) = (wording.to_owned(), source.to_owned());
                self.words.facts.push(OwnFact { muscle, about, wording, source });
            }
            _ => {
                let message = format!(
                    "write the course's wording and its source: `{word}: ribs 2-5 [course handbook]`"
                );
                self.problem(at, column, message, None);
            }
        }
    }

    fn also(&mut self, at: usize, column: usize, muscle: &MuscleKey, names: &str) {
        for name in names.split(',').map(str::trim).filter(|name| !name.is_empty()) {
            let means = match self.index.resolve(name) {
                Resolution::Exact { muscle: other } if other != *muscle => Some(other),
                Resolution::Exact { .. }
                | Resolution::Misspelt { .. }
                | Resolution::WhichOne { .. }
                | Resolution::Unknown { .. }
                | Resolution::Empty => None,
            };
            if let Some(other) = means {
                let called = self.index.name_of(&other).unwrap_or_default().to_owned();
                let message = format!("`{name}` already means {called}");
                self.problem(at, column, message, None);
            } else if fold(name).is_empty() {
                self.problem(at, column, format!("`{name}` is no name"), None);
            } else {
                self.words.also.entry(muscle.clone()).or_default().push(name.to_owned());
            }
        }
    }

    fn unknown(&mut self, (at, column): (usize, usize), kind: &str, word: &str, known: &[&str]) {
        let nearest = nearest(word, known.iter().copied()).map(ToOwned::to_owned);
        self.problem(
            at,
            column,
            format!("unknown {kind} `{word}`: write {}", known.join(", ")),
            nearest,
        );
    }

    fn problem(&mut self, line: usize, column: usize, message: String, nearest: Option<String>) {
        let file = self.file.path.clone();
        self.problems.push(Problem { file, line, column, message, nearest });
    }

    fn finish(mut self) -> Result<OwnList, Vec<Problem>> {
        if self.muscles.is_empty() && self.problems.is_empty() {
            self.problem(1, 1, "the list names no muscle".to_owned(), None);
        }
        let mut seen = BTreeSet::new();
        let names: Vec<String> =
            self.words.also.values().flatten().map(|name| fold(name)).collect();
        if let Some(twice) = names.iter().find(|name| !seen.insert((*name).clone())) {
            let message = format!("`{twice}` is given to two muscles");
            self.problem(1, 1, message, None);
        }
        if !self.problems.is_empty() {
            return Err(self.problems);
        }
        let name = self.name.unwrap_or_else(|| "own list".to_owned());
        let key = ListKey::new(format!("own-{}", fold(&name).replace(' ', "-")));
        let (level, muscles, hide) = (self.level, self.muscles, self.hide);
        Ok(OwnList { list: MuscleList { key, name, level, muscles, hide }, words: self.words })
    }
}
