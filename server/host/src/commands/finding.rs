//! Which seats are one student's: by name or pseudonym.

use std::collections::{BTreeMap, BTreeSet};

use anyhow::bail;
use myonym_wire::{ReviewId, StudentId};

use crate::names;
use crate::pseudonyms::Who;
use crate::reading::Held;
use crate::results::Read;
use crate::store::{Log as _, SqliteLog};

/// A student that was asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Found {
    /// The name, as given last.
    pub(super) name: String,
    /// What stands for the student in exports; several where several were named.
    pub(super) pseudonyms: BTreeSet<String>,
    /// The student's seats.
    pub(super) seats: BTreeMap<ReviewId, BTreeSet<StudentId>>,
}

/// The student with one of these names or pseudonyms in these reviews; `None` if there is none. A
/// name that several students have is refused, for one would be shown, or lose, what is another's.
pub(super) fn find(
    log: &SqliteLog,
    reviews: &[Held],
    wanted: &[String],
) -> anyhow::Result<Option<Found>> {
    let pseudonyms = log.pseudonyms()?;
    // Everyone, with the reviews in which they sat.
    let mut found: BTreeMap<(usize, Who), Vec<&Held>> = BTreeMap::new();
    let mut whole =
        Found { name: String::new(), pseudonyms: BTreeSet::new(), seats: BTreeMap::new() };
    for held in reviews {
        for seat in log.seats(held.header.review)? {
            let who = Read::who(&seat);
            let pseudonym = pseudonyms.pseudonym(who);
            let asked = wanted.iter().position(|name| {
                names::alike(name, &seat.name) || name.eq_ignore_ascii_case(&pseudonym)
            });
            let Some(asked) = asked else { continue };
            whole.seats.entry(held.header.review).or_default().insert(seat.student);
            found.entry((asked, who)).or_default().push(held);
            whole.pseudonyms.insert(pseudonym);
            whole.name = seat.name;
        }
    }
    for (at, name) in wanted.iter().enumerate() {
        let same: Vec<_> = found.iter().filter(|((asked, _), _)| *asked == at).collect();
        if same.len() > 1 {
            let one = |((_, who), sat): (&(usize, Who), &Vec<&Held>)| {
                format!("\n  {}  {}", pseudonyms.pseudonym(*who), where_sat(sat))
            };
            let all: Vec<String> = same.into_iter().map(one).collect();
            bail!(
                "{} students are called {name}; say which by pseudonym:{}",
                all.len(),
                all.concat()
            );
        }
    }
    Ok((!found.is_empty()).then_some(whole))
}

/// In a few words, to tell students of one name apart.
fn where_sat(reviews: &[&Held]) -> String {
    let Some(last) = reviews.last() else { return String::new() };
    let section = last.settings.section.iter().map(|section| format!("{section}, "));
    let others = match reviews.len() {
        1 => String::new(),
        count => format!(" and {} more", count - 1),
    };
    format!("{}{}{others}", section.collect::<String>(), last.header.word)
}
