//! Which reviews are meant: by number, join word, section, date and list.

use std::collections::BTreeSet;

use anyhow::bail;
use jiff::civil::Date;
use myonym_content::problem::nearest;

use crate::clock;
use crate::names;
use crate::reading::Held;

/// What reviews must be to be chosen; all of it holds together.
#[derive(Debug, Clone, Default)]
pub(crate) struct Wanted<'a> {
    /// Numbers of the list or join words; `all`, or none, is any.
    pub(crate) names: &'a [String],
    /// Sections, any of them; none is any.
    pub(crate) sections: &'a [String],
    /// Opened on this day or later.
    pub(crate) from: Option<Date>,
    /// Opened on this day or before it.
    pub(crate) to: Option<Date>,
    /// Key or name of the muscle list.
    pub(crate) list: Option<&'a str>,
    /// Whether study groups that are not named are among them.
    pub(crate) study_groups: bool,
}

impl Wanted<'_> {
    /// The reviews chosen, of all that there are, newest first; chosen are the oldest first.
    pub(super) fn choose(&self, all: &[Held]) -> anyhow::Result<Vec<Held>> {
        let named = self.named(all)?;
        self.check_sections(all)?;
        self.check_list(all)?;
        let mut chosen: Vec<Held> = named
            .into_iter()
            .filter(|held| self.passes(held) && self.takes(held))
            .cloned()
            .collect();
        chosen.sort_by_key(|held| (held.header.opened, held.header.review));
        Ok(chosen)
    }

    /// The reviews chosen, and in words what they were chosen by. Unlike [`Self::choose`] it fails if
    /// there are reviews but none of these.
    pub(crate) fn choose_classes(&self, all: &[Held]) -> anyhow::Result<(Vec<Held>, Vec<String>)> {
        let (chosen, left_out) = (self.choose(all)?, self.left_out(all)?);
        if chosen.is_empty() && !all.is_empty() {
            bail!("{}", self.none_chosen(left_out));
        }
        let mut filter = self.words();
        filter.extend((left_out > 0).then(|| format!("classes ({} left out)", groups(left_out))));
        Ok((chosen, filter))
    }

    /// How many study groups would be among them, but are left out.
    pub(super) fn left_out(&self, all: &[Held]) -> anyhow::Result<usize> {
        let is_left_out = |held: &&&Held| self.passes(held) && !self.takes(held);
        Ok(self.named(all)?.iter().filter(is_left_out).count())
    }

    /// What to say if none are chosen.
    pub(super) fn none_chosen(&self, left_out: usize) -> String {
        match left_out {
            0 => {
                format!("no review is {}: `myonym report` lists them all", self.words().join(", "))
            }
            _ => format!("there is none but {}; --study-groups takes them in", groups(left_out)),
        }
    }

    /// The same in words, for a report.
    pub(super) fn words(&self) -> Vec<String> {
        let mut words: Vec<String> =
            self.sections.iter().map(|section| format!("section {section}")).collect();
        words.extend(self.from.map(|date| format!("from {date}")));
        words.extend(self.to.map(|date| format!("to {date}")));
        words.extend(self.list.map(|list| format!("list {list}")));
        words
    }

    /// Whether anything is asked for but names.
    pub(super) fn is_filter(&self) -> bool {
        !self.words().is_empty()
    }

    /// Whether it is no study group, or one that was asked for.
    fn takes(&self, held: &Held) -> bool {
        let named = !self.names.is_empty() && !self.names.iter().any(|name| name == "all");
        self.study_groups || named || !held.is_group()
    }

    fn passes(&self, held: &Held) -> bool {
        let opened = held.header.opened;
        let section = held.settings.section.as_deref().unwrap_or_default();
        (self.sections.is_empty() || self.sections.iter().any(|one| names::alike(one, section)))
            && self.from.is_none_or(|date| opened >= clock::start_of(date))
            && self.to.is_none_or(|date| opened < clock::end_of(date))
            && self.list.is_none_or(|list| is_list(held, list))
    }

    fn named<'h>(&self, all: &'h [Held]) -> anyhow::Result<Vec<&'h Held>> {
        if self.names.is_empty() || self.names.iter().any(|name| name == "all") {
            return Ok(all.iter().collect());
        }
        let mut chosen: Vec<&Held> = Vec::new();
        for name in self.names {
            let found: Vec<&Held> = match name.parse::<usize>() {
                Ok(number) => {
                    number.checked_sub(1).and_then(|at| all.get(at)).into_iter().collect()
                }
                Err(_) => all.iter().filter(|held| held.header.word.as_str() == name).collect(),
            };
            if found.is_empty() {
                bail!(
                    "no review is {name}; `myonym report` lists them, each with number and join word"
                );
            }
            for held in found {
                if !chosen.iter().any(|known| known.header.review == held.header.review) {
                    chosen.push(held);
                }
            }
        }
        Ok(chosen)
    }

    /// What to say if a section is none that a review was held for.
    pub(super) fn unknown_section(&self, all: &[Held]) -> Option<String> {
        let known: BTreeSet<&str> =
            all.iter().filter_map(|held| held.settings.section.as_deref()).collect();
        let mut sections = self.sections.iter();
        let strange = sections.find(|one| !known.iter().any(|known| names::alike(known, one)))?;
        Some(unknown("section", strange, &known))
    }

    fn check_sections(&self, all: &[Held]) -> anyhow::Result<()> {
        match self.unknown_section(all) {
            Some(unknown) => bail!("{unknown}"),
            None => Ok(()),
        }
    }

    fn check_list(&self, all: &[Held]) -> anyhow::Result<()> {
        let Some(list) = self.list else { return Ok(()) };
        let known: BTreeSet<&str> = all.iter().map(|held| held.settings.list.as_str()).collect();
        if !all.iter().any(|held| is_list(held, list)) {
            bail!("{}", unknown("muscle list", list, &known));
        }
        Ok(())
    }
}

/// A number of study groups, in words.
pub(super) fn groups(count: usize) -> String {
    if count == 1 { "1 study group".to_owned() } else { format!("{count} study groups") }
}

fn is_list(held: &Held, list: &str) -> bool {
    held.settings.list.as_str() == list || names::alike(&held.settings.list_name, list)
}

/// That nothing is called so, and what may have been meant.
pub(super) fn unknown(kind: &str, given: &str, known: &BTreeSet<&str>) -> String {
    let folded = given.to_lowercase();
    let lower: Vec<String> = known.iter().map(|known| known.to_lowercase()).collect();
    let near = nearest(&folded, lower.iter().map(String::as_str))
        .and_then(|near| known.iter().find(|known| known.to_lowercase() == near));
    match (near, known.is_empty()) {
        (Some(near), _) => {
            format!("no review was held for the {kind} {given}; did you mean {near}?")
        }
        (None, false) => {
            let all: Vec<&str> = known.iter().copied().collect();
            format!("no review was held for the {kind} {given}; there are: {}", all.join(", "))
        }
        (None, true) => format!("no review was held for any {kind}"),
    }
}
