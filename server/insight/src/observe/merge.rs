//! Two parts of a term, read side by side, made one table.

use super::contrasted::{Choice, NO_ROUND};
use super::observer::Observer;
use super::table::{MuscleId, Observations, Outcome, PersonId, RoundTag, Row};

impl Observer {
    /// Takes in what another read of later reviews. The table is then the one that a single observer
    /// would have filled, to the last number.
    pub fn absorb(&mut self, later: Self) {
        self.pending = None;
        if self.table == Observations::default() {
            // The first part is the table so far, numbers and all.
            (self.table, self.persons) = (later.table, later.persons);
            return;
        }
        let mut persons: Vec<Option<PersonId>> = vec![None; later.table.person_count()];
        for (hash, theirs) in &later.persons {
            if let Some(place) = persons.get_mut(at(theirs.0)) {
                *place = self.persons.get(hash).copied();
            }
        }
        let persons: Vec<PersonId> = (persons.into_iter().zip(&later.table.groups))
            .map(|(ours, group)| ours.unwrap_or_else(|| self.table.add_person(group.clone())))
            .collect();
        for (hash, theirs) in later.persons {
            if let Some(ours) = persons.get(at(theirs.0)) {
                self.persons.insert(hash, *ours);
            }
        }
        append(&mut self.table, later.table, &persons);
    }
}

/// Puts the rows of a part behind those of a table, with the table's own numbers.
fn append(table: &mut Observations, part: Observations, persons: &[PersonId]) {
    let muscles: Vec<Option<MuscleId>> = (part.muscles())
        .map(|muscle| table.intern(part.key(muscle)?.as_str(), Some(part.name(muscle))))
        .collect();
    let muscle = |theirs: MuscleId| muscles.get(usize::from(theirs.0)).copied().flatten();
    let reviews: Vec<u32> =
        part.reviews().iter().map(|review| table.add_review(review.clone())).collect();
    let rounds: Vec<Option<u32>> = (part.rounds().iter())
        .map(|round| {
            let asked = muscle(round.asked)?;
            let review = *reviews.get(at(round.review))?;
            Some(table.add_round(RoundTag { review, asked, ..round.clone() }))
        })
        .collect();
    let round = |theirs: u32| rounds.get(at(theirs)).copied().flatten();
    let moved = |row: &Row, round: u32| {
        let outcome = match row.outcome {
            Outcome::Near(said) => Outcome::Near(muscle(said)?),
            Outcome::Said(said) => Outcome::Said(muscle(said)?),
            other @ (Outcome::Right | Outcome::NoName | Outcome::TimedOut | Outcome::Omitted) => {
                other
            }
        };
        Some(Row {
            review: *reviews.get(at(row.review))?,
            person: *persons.get(at(row.person.0))?,
            round,
            asked: muscle(row.asked)?,
            outcome,
            ..*row
        })
    };
    table.make_room(part.rows().len());
    // Only what lies beyond 65,000 muscles has no number here.
    for row in part.rows().iter().filter_map(|row| moved(row, round(row.round)?)) {
        table.push(row);
    }
    let choice = |choice: &Choice| {
        Some(Choice { row: moved(&choice.row, NO_ROUND)?, beside: muscle(choice.beside)? })
    };
    table.choices.extend(part.choices.iter().filter_map(choice));
    for ((of, typed), count) in part.misspelt {
        if let Some(of) = muscle(of) {
            *table.misspelt.entry((of, typed)).or_default() += count;
        }
    }
}

fn at(place: u32) -> usize {
    usize::try_from(place).unwrap_or(usize::MAX)
}
