//! The contrast that a reveal shows.

use std::collections::BTreeMap;

use myonym_content::{Course, MuscleKey};
use myonym_wire::Verdict;

use crate::event::RevealContrast;
use crate::round::{self, RoundRecord};

/// The contrast with the commonest wrong answer; on a tie, with the nearer muscle, then by name.
pub(crate) fn contrast(course: &Course, record: &RoundRecord) -> Option<RevealContrast> {
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
