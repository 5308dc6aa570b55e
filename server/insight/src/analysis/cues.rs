//! What clues told and the class overlooked.

use std::collections::{BTreeMap, BTreeSet};

use myonym_content::cue::Cues;
use myonym_content::{ClueKind, MuscleKey};
use myonym_stats::{Beta, Tally, shrink};

use super::found::{Area, AreaKind, Aspect, CueFound};
use super::pairs::Facts;
use crate::estimate::wilson;
use crate::observe::{MuscleId, Observations, Outcome, Row};

/// Something named by clues is told once it stood before this many answers.
const LEAST_SHOWN: u32 = 5;

/// Counts by what was named.
#[derive(Default)]
struct Seen {
    overlooked: u32,
    shown: u32,
    muscles: BTreeSet<MuscleId>,
}

/// What the class overlooks, and the share of answers that heeded each kind of clue.
///
/// An answer overlooks a clue if the clue was on the screen and is untrue of the muscle answered:
/// nobody who took it in could have named that one. Right answers heed every clue. Silence and
/// names of no muscle say nothing.
pub(super) fn cues(
    table: &Observations,
    cues: &mut Cues<'_>,
    facts: &impl Facts,
) -> (Vec<CueFound>, Vec<Area>) {
    let mut named: BTreeMap<(Aspect, String), Seen> = BTreeMap::new();
    let mut kinds: BTreeMap<Aspect, Seen> = BTreeMap::new();
    for rows in table.rows().chunk_by(|row, next| row.round == next.round) {
        let round = rows.first().and_then(|row| table.round(row));
        let asked = round.and_then(|round| table.key(round.asked));
        let (Some(round), Some(asked)) = (round, asked) else { continue };
        let answers = answers(rows);
        for (number, clue) in (0..).zip(&round.clues) {
            // The count of clues on the screen tells who had this one.
            let before: Vec<(&MuscleKey, u32)> = (answers.iter())
                .filter(|((_, clues), _)| *clues > number)
                .filter_map(|((said, _), count)| Some((table.key(*said)?, *count)))
                .collect();
            let shown: u32 = before.iter().map(|(_, count)| count).sum();
            let Some(cue) = cues.cue(asked, clue).filter(|_| shown > 0) else { continue };
            let against = before.iter().filter(|(said, _)| cue.rules_out(said));
            let overlooked: u32 = against.map(|(_, count)| count).sum();
            let aspect = aspect(cue.kind);
            let add = |seen: &mut Seen| {
                seen.overlooked += overlooked;
                seen.shown += shown;
                seen.muscles.insert(round.asked);
            };
            add(kinds.entry(aspect).or_default());
            for about in &cue.about {
                add(named.entry((aspect, about.clone())).or_default());
            }
        }
    }
    (found(named, facts), areas(&kinds))
}

/// Answers of one round that named a muscle, by muscle named and clues shown.
fn answers(rows: &[Row]) -> BTreeMap<(MuscleId, u8), u32> {
    let mut answers = BTreeMap::new();
    for row in rows {
        let said = match row.outcome {
            Outcome::Right => row.asked,
            Outcome::Near(said) | Outcome::Said(said) => said,
            Outcome::NoName | Outcome::TimedOut | Outcome::Omitted => continue,
        };
        *answers.entry((said, row.clues)).or_default() += 1;
    }
    answers
}

fn found(named: BTreeMap<(Aspect, String), Seen>, facts: &impl Facts) -> Vec<CueFound> {
    let tally = |seen: &Seen| Tally::new(seen.overlooked, seen.shown);
    let tallies: Vec<Tally> = named.values().filter_map(tally).collect();
    let prior = shrink::fit(&tallies).map(|prior| prior.beta).or_else(|| Beta::new(1.0, 9.0));
    let cue = |((aspect, about), seen): ((Aspect, String), Seen)| {
        let known = prior?.after(Tally::new(seen.overlooked, seen.shown)?)?;
        Some(CueFound {
            aspect,
            about,
            overlooked: seen.overlooked,
            shown: seen.shown,
            rate: wilson(seen.overlooked, seen.shown)?,
            shrunken: known.mean(),
            muscles: seen.muscles.iter().map(|muscle| facts.named(*muscle)).collect(),
        })
    };
    let mut cues: Vec<CueFound> = named
        .into_iter()
        .filter(|(_, seen)| seen.overlooked > 0 && seen.shown >= LEAST_SHOWN)
        .filter_map(cue)
        .collect();
    cues.sort_by(|a, b| b.shrunken.total_cmp(&a.shrunken).then_with(|| a.about.cmp(&b.about)));
    cues
}

fn areas(kinds: &BTreeMap<Aspect, Seen>) -> Vec<Area> {
    let area = |(aspect, seen): (&Aspect, &Seen)| {
        let right = seen.shown - seen.overlooked;
        Some(Area {
            kind: AreaKind::Aspect,
            name: name(*aspect).to_owned(),
            right,
            of: seen.shown,
            rate: wilson(right, seen.shown)?,
        })
    };
    kinds.iter().filter_map(area).collect()
}

/// The kind of knowledge that a kind of clue is about.
fn aspect(kind: ClueKind) -> Aspect {
    match kind {
        ClueKind::Joint | ClueKind::Action => Aspect::Action,
        ClueKind::OriginBone | ClueKind::Origin => Aspect::Origin,
        ClueKind::InsertionBone | ClueKind::Insertion | ClueKind::Attachments => Aspect::Insertion,
        ClueKind::Nerve | ClueKind::Roots => Aspect::Innervation,
        ClueKind::Region | ClueKind::Group | ClueKind::Picture => Aspect::Place,
    }
}

/// What a kind of knowledge is called.
pub(super) fn name(aspect: Aspect) -> &'static str {
    match aspect {
        Aspect::Action => "actions",
        Aspect::Origin => "origins",
        Aspect::Insertion => "insertions",
        Aspect::Innervation => "innervation",
        Aspect::Place => "compartments and regions",
    }
}
