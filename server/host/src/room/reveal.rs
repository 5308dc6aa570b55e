//! What is told at a reveal.

use myonym_content::Difference;
use myonym_engine::{Makes, RevealContrast, RoundRecord, SpellingFound, Standing};
use myonym_wire::limits::MESSAGE_BYTES;
use myonym_wire::{
    ContrastShown, DifferenceShown, NamePair, OwnResult, Part, Reveal, RoundNo, Seq, StudentId,
    Task, ToInstructor, ToStudent, Verdict, encode,
};

use super::audience::{To, Told};
use super::translate::{View, clue_shown, count, spread_rows};

/// Bytes of a reveal: what comes beside it in a message (standings, one's own result) has the rest.
const MOST_BYTES: usize = MESSAGE_BYTES - 2 * 1024;

impl View<'_> {
    /// The reveal, each student's result, the standings, and the weak spots.
    pub(super) fn revealed(&self, seq: Seq, round: RoundNo) -> Vec<Told> {
        let Some(record) = self.review.rounds().last() else { return Vec::new() };
        let reveal = Box::new(self.reveal(record));
        let mut told = vec![Told::text(To::All, &ToStudent::Revealed { seq, round, reveal })];
        let places = self.places.of(self.review);
        for standing in &*places {
            if let Some(result) = self.result(record, *standing, places.len()) {
                told.push(Told::text(To::Student(standing.student), &ToStudent::Result(result)));
            }
        }
        let (rows, of) = (self.standing_rows(&places), count(places.len()));
        told.push(Told::text(To::All, &ToStudent::Standings { seq, rows, of }));
        told.push(Told::text(To::Instructors, &ToInstructor::WeakSpots(self.weak_spots())));
        told
    }

    /// One student's result of a round; `None` for one who was not here.
    pub(super) fn result(
        &self,
        record: &RoundRecord,
        standing: Standing,
        of: usize,
    ) -> Option<OwnResult> {
        let (verdict, points) = record.result(standing.student, self.review.settings().rule)?;
        Some(OwnResult {
            round: record.round,
            verdict,
            answer: self.answer_name(record, standing.student),
            points: points.as_f64(),
            total: standing.points.as_f64(),
            place: standing.place,
            of: count(of),
        })
    }

    /// The reveal of a round.
    pub(super) fn reveal(&self, record: &RoundRecord) -> Reveal {
        let movements = match record.task {
            Task::Movement => Makes::of(self.course, &record.muscle).names(self.course),
            Task::Name | Task::Picture | Task::Contrast => Vec::new(),
        };
        let mut reveal = Reveal {
            task: record.task,
            answer: NamePair { name: record.name.clone(), latin: record.latin.clone() },
            movements,
            clues: record.clues.iter().map(clue_shown).collect(),
            spread: spread_rows(myonym_engine::spread(record.task, &record.answers)),
            silent: count(record.silent.len()),
            contrast: record.contrast.as_ref().map(|contrast| contrast_shown(record, contrast)),
            explanations: self.course.explanations(&record.muscle),
            pictures: self.pictures.of_reveal(record).to_vec(),
        };
        // Rather a plainer picture, or one alone, than a message that is too large.
        if encode(&reveal).len() > MOST_BYTES {
            let pictures = reveal.pictures.iter_mut();
            pictures.for_each(|it| it.strokes.retain(|stroke| stroke.part != Part::Neighbour));
        }
        while encode(&reveal).len() > MOST_BYTES && reveal.pictures.pop().is_some() {}
        reveal
    }

    /// What a student answered, in words.
    pub(super) fn answer_name(&self, record: &RoundRecord, student: StudentId) -> Option<String> {
        let answer = record.answers.get(&student)?;
        let only_misspelt = match (&answer.said, &answer.movement) {
            (Some(said), _) => *said == record.muscle,
            (None, Some(movement)) => {
                let makes = Makes::of(self.course, &record.muscle);
                makes.verdict(movement) == Verdict::Right
            }
            (None, None) => true,
        };
        // In strict spelling the slip itself is what the student has to see.
        if !answer.exact && answer.spelling != SpellingFound::Exact && only_misspelt {
            return Some(answer.typed.clone());
        }
        answer.said_name.clone()
    }
}

fn contrast_shown(record: &RoundRecord, shown: &RevealContrast) -> ContrastShown {
    ContrastShown {
        asked: record.name.clone(),
        said: shown.said_name.clone(),
        count: shown.count,
        shared: shown.contrast.shared.clone(),
        apart: shown.contrast.apart.iter().map(difference).collect(),
    }
}

/// What separates two muscles, as it is shown.
pub(super) fn difference(difference: &Difference) -> DifferenceShown {
    DifferenceShown {
        aspect: difference.aspect.clone(),
        asked: difference.first.clone(),
        said: difference.second.clone(),
    }
}
