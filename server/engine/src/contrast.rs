//! The contrast that a reveal shows.

use std::collections::BTreeMap;

use myonym_content::{Course, MuscleKey};
use myonym_wire::Verdict;

use crate::event::{Offered, RevealContrast};
use crate::round::{self, RoundRecord};

/// The contrast with the other muscle offered, where one of two was to be chosen; else with the
/// commonest wrong answer, on a tie with the nearer muscle, then by name.
pub(crate) fn contrast(course: &Course, record: &RoundRecord) -> Option<RevealContrast> {
    match record.offered.iter().find(|offered| offered.muscle != record.muscle) {
        Some(other) => with_other(course, record, other),
        None => with_commonest(course, record),
    }
}

fn with_other(course: &Course, record: &RoundRecord, other: &Offered) -> Option<RevealContrast> {
    let Offered { muscle: said, name: said_name } = other.clone();
    let chose = record.answers.values().filter(|answer| answer.said.as_ref() == Some(&said));
    let count = u32::try_from(chose.count()).unwrap_or(u32::MAX);
    let contrast = course.contrast(&record.muscle, &said)?;
    Some(RevealContrast { said, said_name, count, contrast })
}

fn with_commonest(course: &Course, record: &RoundRecord) -> Option<RevealContrast> {
    let near = |said: &MuscleKey| course.nearness(&record.muscle, said);
    let mut wrong: BTreeMap<MuscleKey, (String, u32)> = BTreeMap::new();
    for (name, said, count, verdict) in round::spread(record.task, &record.answers) {
        if let Some(said) = said
            && verdict != Verdict::Right
            && said != record.muscle
        {
            wrong.entry(said).or_insert((name, 0)).1 += count;
        }
    }
    let (said, (said_name, count)) = wrong.into_iter().max_by(|a, b| {
        (a.1.1.cmp(&b.1.1))
            .then_with(|| near(&a.0).total_cmp(&near(&b.0)))
            .then_with(|| b.0.cmp(&a.0))
    })?;
    let contrast = course.contrast(&record.muscle, &said)?;
    Some(RevealContrast { said, said_name, count, contrast })
}
