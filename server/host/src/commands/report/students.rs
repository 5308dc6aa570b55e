//! Students by name: only where the instructor asks for it.

use std::collections::{BTreeMap, BTreeSet};

use anyhow::bail;
use myonym_content::Catalogue;
use myonym_insight::own::{OwnRound, OwnTotals, look_again};
use myonym_insight::render;
use myonym_wire::StudentId;
use serde::Serialize;

use super::super::choosing::unknown;
use super::super::finding;
use super::width;
use crate::names;
use crate::pseudonyms::Who;
use crate::reading::Held;
use crate::results::Read;
use crate::store::{Log as _, SqliteLog, StoreError};

/// One student among the class.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct ClassRow {
    /// The name, as given last.
    name: String,
    /// What stands for the student in exports.
    pseudonym: String,
    /// The group, as given last.
    group: Option<String>,
    /// Reviews in which the student had a seat.
    reviews: u32,
    #[serde(flatten)]
    own: OwnTotals,
}

impl ClassRow {
    /// The numbers with what the student is called.
    pub(super) fn labelled(&self) -> (String, OwnTotals) {
        (self.name.clone(), self.own)
    }
}

/// Each student's own numbers, by name.
pub(super) fn class(
    log: &SqliteLog,
    reviews: &[Held],
    group: Option<&str>,
) -> Result<Vec<ClassRow>, StoreError> {
    let pseudonyms = log.pseudonyms()?;
    let mut rows: BTreeMap<Who, (ClassRow, Vec<OwnRound>)> = BTreeMap::new();
    for held in reviews {
        let read = Read::of(log, held, group)?;
        for seat in read.seats.values() {
            let who = Read::who(seat);
            let (row, _) = rows.entry(who).or_insert_with(|| {
                let pseudonym = pseudonyms.pseudonym(who);
                let own = OwnTotals::default();
                let row = ClassRow { name: String::new(), pseudonym, group: None, reviews: 0, own };
                (row, Vec::new())
            });
            row.name.clone_from(&seat.name);
            row.group = seat.group.clone().or_else(|| row.group.take());
            row.reviews += 1;
        }
        let everyone: BTreeSet<StudentId> = read.seats.keys().copied().collect();
        for (student, round) in read.own_rounds(&everyone) {
            let who = read.seats.get(&student).map(Read::who);
            if let Some((_, rounds)) = who.and_then(|who| rows.get_mut(&who)) {
                rounds.push(round);
            }
        }
    }
    let summed = rows.into_values().map(|(row, rounds)| {
        let own = OwnTotals::of(&rounds);
        ClassRow { own, ..row }
    });
    let mut class: Vec<ClassRow> = summed.collect();
    class.sort_by(|a, b| (&a.name, &a.pseudonym).cmp(&(&b.name, &b.pseudonym)));
    Ok(class)
}

/// One student's own page.
pub(super) fn page(log: &SqliteLog, reviews: &[Held], wanted: &[String]) -> anyhow::Result<String> {
    let Some(found) = finding::find(log, reviews, wanted)? else {
        bail!("nobody in these reviews is called {}", wanted.join(" or "));
    };
    let mut rounds = Vec::new();
    for held in reviews {
        if let Some(students) = found.seats.get(&held.header.review) {
            let read = Read::of(log, held, None)?;
            rounds.extend(read.own_rounds(students).into_iter().map(|(_, round)| round));
        }
    }
    let again = look_again(Catalogue::bundled(), &rounds);
    Ok(render::own_page(&found.name, &rounds, &again, width()))
}

/// That somebody gave this group.
pub(super) fn check_group(log: &SqliteLog, reviews: &[Held], group: &str) -> anyhow::Result<()> {
    let mut known = BTreeSet::new();
    for held in reviews {
        known.extend(log.seats(held.header.review)?.into_iter().filter_map(|seat| seat.group));
    }
    if known.iter().any(|known| names::alike(known, group)) {
        return Ok(());
    }
    bail!("{}", unknown("group", group, &known.iter().map(String::as_str).collect()))
}
