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
    // Everyone, with the words of the reviews in which they sat.
    let mut found: BTreeMap<(usize, Who), Vec<String>> = BTreeMap::new();
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
            found.entry((asked, who)).or_default().push(held.header.word.to_string());
            whole.pseudonyms.insert(pseudonym);
            whole.name = seat.name;
        }
    }
    for (at, name) in wanted.iter().enumerate() {
        let same: Vec<_> = found.iter().filter(|((asked, _), _)| *asked == at).collect();
        if same.len() > 1 {
            let one = |((_, who), words): (&(usize, Who), &Vec<String>)| {
                format!("{} ({})", pseudonyms.pseudonym(*who), words.join(", "))
            };
            let all: Vec<String> = same.into_iter().map(one).collect();
            bail!(
                "{} students are called {name}; say which by pseudonym: {}",
                all.len(),
                all.join("; ")
            );
        }
    }
    Ok((!found.is_empty()).then_some(whole))
}
