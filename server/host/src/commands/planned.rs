//! Plans on their way from and to a person.

use std::fs;
use std::path::Path;

use anyhow::{Context as _, bail};
use myonym_content::Catalogue;
use myonym_content::problem::SourceFile;

use super::own_list;
use crate::plan_file::{self, PlanFile};

/// Reads the plan in a file; what is wrong with it is told all at once.
pub(super) fn open(path: &Path) -> anyhow::Result<PlanFile> {
    let name = path.display().to_string();
    let text =
        fs::read_to_string(path).with_context(|| format!("the plan {name} cannot be read"))?;
    let file = SourceFile { path: name, text };
    match plan_file::read(&file, Catalogue::bundled(), own_list) {
        Ok(plan) => Ok(plan),
        Err(problems) => {
            let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
            let count = lines.len();
            let noun = if count == 1 { "problem" } else { "problems" };
            bail!("the plan cannot be held:\n{}\n{count} {noun} found", lines.join("\n"))
        }
    }
}

/// Rounds with why each is in, one under the other; a reason that does not fit beside goes below.
pub(super) fn page<'a>(rounds: impl Iterator<Item = (String, &'a str)>, width: u16) -> String {
    let rounds: Vec<(String, &str)> = rounds.collect();
    let room = usize::from(width);
    let asks = rounds.iter().map(|(asks, _)| asks.chars().count()).max().unwrap_or_default();
    let asks = asks.min(room / 2);
    let mut lines = Vec::new();
    for (number, (ask, why)) in (1..).zip(rounds) {
        let indent = NUMBER + asks + GAP;
        let mut parts = wrapped(why, room.saturating_sub(indent).max(LEAST)).into_iter();
        let line = format!("{number:>3}  {ask:<asks$}");
        let beside = if ask.chars().count() > asks { None } else { parts.next() };
        lines.push(format!("{line}  {}", beside.unwrap_or_default()).trim_end().to_owned());
        lines.extend(parts.map(|part| format!("{:indent$}{part}", "")));
    }
    lines.join("\n")
}

/// Words in lines of at most so many characters, if no word is longer.
pub(super) fn wrapped(text: &str, room: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= room => {
                line.push(' ');
                line.push_str(word);
            }
            Some(_) | None => lines.push(word.to_owned()),
        }
    }
    lines
}

/// Columns of a round's number, between what it asks and why, and of why at least.
const NUMBER: usize = 5;
const GAP: usize = 2;
const LEAST: usize = 20;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_fits_its_width() {
        let rounds = [
            ("teres minor beside teres major".to_owned(), "7 of 24 took it for teres major"),
            ("deltoid".to_owned(), ""),
            ("soleus".to_owned(), "not asked for three weeks, and half knew it then"),
        ];
        let told = |width| page(rounds.iter().map(|(asks, why)| (asks.clone(), *why)), width);
        assert_eq!(
            told(80),
            "  1  teres minor beside teres major  7 of 24 took it for teres major\n  2  deltoid\n  \
             3  soleus                          not asked for three weeks, and half knew it\n     \
             \u{20}                               then"
        );
        assert!(told(60).lines().all(|line| line.chars().count() <= 60), "{}", told(60));
    }
}
