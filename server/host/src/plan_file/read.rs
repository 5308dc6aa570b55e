//! Reading a plan: every line that is wrong is told, and what may have been meant.

use std::ops::Range;

use myonym_content::name::NameIndex;
use myonym_content::problem::{Problem, SourceFile, nearest};
use myonym_content::{Catalogue, Course, ListKey, MuscleKey, OwnList, Resolution};
use myonym_engine::Planned;
use myonym_wire::Task;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::{PlanFile, PlannedRound, TASKS};

/// Rounds of a plan at most, as of any review.
const MOST_ROUNDS: usize = 500;

/// Reads a plan. `own_list` gives the text of a list that is a file of the instructor's own.
pub(crate) fn read(
    file: &SourceFile,
    catalogue: &Catalogue,
    own_list: impl FnOnce(&str) -> anyhow::Result<Option<SourceFile>>,
) -> Result<PlanFile, Vec<Problem>> {
    let mut reader = Reader {
        file,
        catalogue,
        names: NameIndex::of(catalogue),
        course: None,
        problems: Vec::new(),
    };
    let (table, faults) = DeTable::parse_recoverable(&file.text);
    for fault in &faults {
        let at = fault.span().map_or(0, |span| span.start);
        reader.problem(at, format!("TOML syntax: {}", fault.message()), None);
    }
    // What is left of a file that is no TOML says little.
    let plan = if faults.is_empty() { reader.plan(table.get_ref(), own_list) } else { None };
    let mut problems = reader.problems;
    problems.sort_by_key(|problem| (problem.line, problem.column));
    plan.filter(|_| problems.is_empty()).ok_or(problems)
}

type Value<'a> = Spanned<DeValue<'a>>;

struct Reader<'a> {
    file: &'a SourceFile,
    catalogue: &'a Catalogue,
    names: NameIndex,
    course: Option<Course>,
    problems: Vec<Problem>,
}

impl Reader<'_> {
    fn plan(
        &mut self,
        table: &DeTable<'_>,
        own_list: impl FnOnce(&str) -> anyhow::Result<Option<SourceFile>>,
    ) -> Option<PlanFile> {
        self.refuse_others(table, &["list", "seed", "limit", "round"]);
        let list = self.required(table, "list", 0).and_then(|value| self.text(value));
        let own_list = list.as_ref().and_then(|(list, at)| self.list(list, *at, own_list));
        let seed = table.get("seed").and_then(|value| self.seed(value));
        let limit_ms = table.get("limit").and_then(|value| self.limit(value));
        let rounds = self.required(table, "round", 0).and_then(|value| self.rounds(value));
        let (list, _) = list?;
        Some(PlanFile { list, own_list, seed, limit_ms, rounds: rounds? })
    }

    /// Makes the list ready, so that names are known as its course knows them.
    fn list(
        &mut self,
        list: &str,
        at: usize,
        own_list: impl FnOnce(&str) -> anyhow::Result<Option<SourceFile>>,
    ) -> Option<SourceFile> {
        let catalogue = self.catalogue;
        let (own, course) = match own_list(list) {
            Err(fault) => {
                self.problem(at, format!("{fault:#}"), None);
                return None;
            }
            Ok(Some(own)) => match OwnList::read(&own, catalogue) {
                Ok(read) => (Some(own), Course::of_own(catalogue, &read)),
                Err(problems) => {
                    self.problems.extend(problems);
                    return None;
                }
            },
            Ok(None) => {
                let Some(known) = catalogue.list(&ListKey::new(list)) else {
                    let near = nearest(list, catalogue.lists().map(|list| list.key.as_str()));
                    let near = near.map(ToOwned::to_owned);
                    self.problem(at, format!("no muscle list is called `{list}`"), near);
                    return None;
                };
                (None, Course::new(catalogue, known))
            }
        };
        match course {
            Ok(course) => self.course = Some(course),
            Err(fault) => self.problem(at, fault.to_string(), None),
        }
        own
    }

    fn seed(&mut self, value: &Value<'_>) -> Option<u64> {
        let number = value.get_ref().as_integer().and_then(|number| number.as_str().parse().ok());
        if number.is_none() {
            let message = "seed: write a whole number from 0, such as 7".to_owned();
            self.problem(value.span().start, message, None);
        }
        number
    }

    fn limit(&mut self, value: &Value<'_>) -> Option<u32> {
        let text = match value.get_ref() {
            DeValue::String(text) => text.to_string(),
            DeValue::Integer(seconds) => seconds.as_str().to_owned(),
            DeValue::Float(_)
            | DeValue::Boolean(_)
            | DeValue::Datetime(_)
            | DeValue::Array(_)
            | DeValue::Table(_) => String::new(),
        };
        let Ok(limit) = myonym_play::parse_limit(&text) else {
            let message = "limit: write a time from 1s to 10m, such as \"45s\"".to_owned();
            self.problem(value.span().start, message, None);
            return None;
        };
        u32::try_from(limit.as_millis()).ok()
    }

    fn rounds(&mut self, value: &Value<'_>) -> Option<Vec<PlannedRound>> {
        let Some(rounds) = value.get_ref().as_array() else {
            let message = "rounds stand each under a line [[round]]".to_owned();
            self.problem(value.span().start, message, None);
            return None;
        };
        if let Some(further) = rounds.get(MOST_ROUNDS) {
            let message = format!("a review has at most {MOST_ROUNDS} rounds");
            self.problem(further.span().start, message, None);
        }
        if rounds.is_empty() {
            self.problem(value.span().start, "a plan needs at least one round".to_owned(), None);
        }
        rounds
            .iter()
            .take(MOST_ROUNDS)
            .map(|round| self.round(round))
            .collect::<Vec<_>>()
            .into_iter()
            .collect()
    }

    fn round(&mut self, value: &Value<'_>) -> Option<PlannedRound> {
        let at = value.span().start;
        let Some(row) = value.get_ref().as_table() else {
            self.problem(at, "rounds stand each under a line [[round]]".to_owned(), None);
            return None;
        };
        self.refuse_others(row, &["muscle", "task", "beside", "why"]);
        let muscle = self.required(row, "muscle", at).and_then(|value| self.listed(value));
        let task = row.get("task").map(|value| self.task(value));
        let beside = row.get("beside").map(|value| (value.span(), self.known(value)));
        let why = row.get("why").map(|value| self.text(value));
        if let (Some((span, _)), Some(Some(Task::Name | Task::Picture | Task::Movement))) =
            (&beside, task)
        {
            let message = "`beside` belongs to the task `contrast`".to_owned();
            self.problem(span.start, message, None);
        }
        if let (Some((span, Some((other, _)))), Some((muscle, name))) = (&beside, &muscle)
            && other == muscle
        {
            self.problem(span.start, format!("{name} stands beside itself"), None);
        }
        let task = match (task, &beside) {
            (Some(task), _) => task?,
            (None, Some(_)) => Task::Contrast,
            (None, None) => Task::Name,
        };
        let other = match beside {
            Some((_, other)) => Some(other?),
            None => None,
        };
        let (muscle, name) = muscle?;
        let (why, _) = why.unwrap_or_else(|| Some((String::new(), at)))?;
        let (beside_key, beside) = other.unzip();
        let planned = Planned { muscle, task, beside: beside_key };
        Some(PlannedRound { planned, name, beside, why })
    }

    fn task(&mut self, value: &Value<'_>) -> Option<Task> {
        let (text, at) = self.text(value)?;
        let known = TASKS.iter().find(|(word, _)| *word == text);
        if known.is_none() {
            let words = TASKS.map(|(word, _)| word);
            let near = nearest(&text, words.into_iter()).map(ToOwned::to_owned);
            let message = format!("unknown task `{text}`: write {}", words.join(", "));
            self.problem(at, message, near);
        }
        known.map(|(_, task)| *task)
    }

    /// A muscle of the list, by name.
    fn listed(&mut self, value: &Value<'_>) -> Option<(MuscleKey, String)> {
        let (muscle, name) = self.known(value)?;
        let off = self.course.as_ref().filter(|course| course.item(&muscle).is_none());
        if let Some(course) = off {
            let message = format!("{name} is not on the list {}", course.list().name);
            self.problem(value.span().start, message, None);
            return None;
        }
        Some((muscle, name))
    }

    /// A muscle whose facts are in, by name.
    fn known(&mut self, value: &Value<'_>) -> Option<(MuscleKey, String)> {
        let (text, at) = self.text(value)?;
        let called = |keys: &[MuscleKey]| {
            let names = keys.iter().filter_map(|key| self.names.name_of(key));
            names.map(ToOwned::to_owned).collect::<Vec<_>>()
        };
        let resolved = match &self.course {
            Some(course) => course.resolve(&text),
            None => self.names.resolve(&text),
        };
        let (message, near) = match resolved {
            Resolution::Exact { muscle } if self.catalogue.muscle(&muscle).is_some() => {
                let name = called(std::slice::from_ref(&muscle)).pop().unwrap_or(text);
                return Some((muscle, name));
            }
            Resolution::Exact { .. } => (format!("the facts of `{text}` are not in yet"), None),
            Resolution::Misspelt { muscle, .. } => {
                (format!("no muscle is called `{text}`"), called(&[muscle]).pop())
            }
            Resolution::WhichOne { among } => {
                (format!("`{text}` fits several muscles: {}", called(&among).join(", ")), None)
            }
            Resolution::Unknown { nearest } => {
                (format!("no muscle is called `{text}`"), called(&nearest).into_iter().next())
            }
            Resolution::Empty => (format!("`{text}` is no name"), None),
        };
        self.problem(at, message, near);
        None
    }

    fn text(&mut self, value: &Value<'_>) -> Option<(String, usize)> {
        let at = value.span().start;
        let Some(text) = value.get_ref().as_str() else {
            let found = value.get_ref().type_str();
            self.problem(at, format!("expected text in quotes, found {found}"), None);
            return None;
        };
        Some((text.trim().to_owned(), at))
    }

    fn required<'t, 'i>(
        &mut self,
        table: &'t DeTable<'i>,
        field: &str,
        at: usize,
    ) -> Option<&'t Value<'i>> {
        let value = table.get(field);
        if value.is_none() {
            self.problem(at, format!("missing field `{field}`"), None);
        }
        value
    }

    fn refuse_others(&mut self, table: &DeTable<'_>, fields: &[&str]) {
        for key in table.keys().filter(|key| !fields.contains(&key.get_ref().as_ref())) {
            let Range { start, .. } = key.span();
            let near = nearest(key.get_ref(), fields.iter().copied()).map(ToOwned::to_owned);
            self.problem(start, format!("unknown field `{}`", key.get_ref()), near);
        }
    }

    fn problem(&mut self, at: usize, message: String, nearest: Option<String>) {
        self.problems.push(Problem::at(self.file, at, message, nearest));
    }
}

#[cfg(test)]
mod tests;
