//! Simulated classes with known weak spots. Invented: the truth is known here and nowhere else.

use myonym_content::{Catalogue, ListKey, MuscleKey};
use myonym_engine::{Answer, Event, Offered, SpellingFound};
use myonym_insight::observe::{Observations, Observer, ReviewTag, Sitting};
use myonym_wire::{AttemptId, CloseWhy, ReviewId, RoundNo, StudentId, Task};
use rand::rngs::ChaCha8Rng;
use rand::{RngExt as _, SeedableRng as _};
use uuid::Uuid;

/// Week in seconds: reviews are a week apart.
const WEEK_S: i64 = 604_800;

/// How a simulated class answers.
#[derive(Debug, Clone)]
pub struct Class {
    pub students: u32,
    /// Chance of a right answer where nothing is planted.
    pub knows: f64,
    /// When `.0` is asked, `.1` is said with this chance.
    pub planted: Vec<(&'static str, &'static str, f64)>,
    /// A muscle that is said for any other with this chance, by those who do not know.
    pub favourite: Option<(&'static str, f64)>,
}

/// What one round asks.
#[derive(Debug, Clone)]
pub struct Asked {
    pub muscle: MuscleKey,
    /// The other one offered, where one of two is to be chosen.
    pub beside: Option<MuscleKey>,
}

impl From<MuscleKey> for Asked {
    fn from(muscle: MuscleKey) -> Self {
        Self { muscle, beside: None }
    }
}

/// The muscles of a bundled list.
pub fn muscles(list: &str) -> Vec<MuscleKey> {
    let found = Catalogue::bundled().lists().find(|one| one.key.as_str() == list);
    found.unwrap().muscles.clone()
}

impl Class {
    /// The table of reviews that ask these muscles, a week apart.
    pub fn table<A: Clone + Into<Asked>>(
        &self,
        decks: &[Vec<A>],
        list: &[MuscleKey],
        seed: u64,
    ) -> Observations {
        let stretches: Vec<(&Self, Vec<A>)> =
            decks.iter().map(|deck| (self, deck.clone())).collect();
        Self::stretches(&stretches, list, seed)
    }

    /// A table of reviews, each of a class that knew other things then.
    pub fn stretches<A: Clone + Into<Asked>>(
        reviews: &[(&Self, Vec<A>)],
        list: &[MuscleKey],
        seed: u64,
    ) -> Observations {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let mut observer = Observer::default();
        for (review, (class, deck)) in (0..).zip(reviews) {
            let deck: Vec<Asked> = deck.iter().cloned().map(Into::into).collect();
            class.review(&mut observer, review, &deck, list, &mut random);
        }
        observer.finish()
    }

    fn review(
        &self,
        observer: &mut Observer,
        review: u32,
        deck: &[Asked],
        list: &[MuscleKey],
        random: &mut ChaCha8Rng,
    ) {
        let student = |n: u32| StudentId(Uuid::from_u128(u128::from(n) + 1));
        let seats = (0..self.students).map(|n| Sitting {
            student: student(n),
            person: Some([u8::try_from(n).unwrap(); 32]),
            group: None,
        });
        let tag = ReviewTag {
            review: ReviewId(Uuid::from_u128(u128::from(review) + 1)),
            section: None,
            opened_s: i64::from(review) * WEEK_S,
            list: ListKey::new("shoulder"),
            adaptive: false,
        };
        observer.begin(tag, seats);
        for (number, asked) in (1..).zip(deck) {
            let round = RoundNo(number);
            observer.event(&opened(round, asked));
            for n in 0..self.students {
                let said = self.answer(asked, list, random);
                observer.event(&answered(round, student(n), &asked.muscle, &said));
            }
            let (why, silent) = (CloseWhy::AllAnswered, Vec::new());
            observer.event(&Event::RoundClosed { round, why, silent });
            observer.event(&Event::Revealed { round, contrast: None });
        }
    }

    /// Of two that are offered the one that comes to mind, or if neither does, either by chance.
    fn answer(&self, asked: &Asked, list: &[MuscleKey], random: &mut ChaCha8Rng) -> MuscleKey {
        let Asked { muscle, beside } = asked;
        let said = self.named(muscle, list, random);
        match beside {
            Some(beside) if said != *muscle && said != *beside => {
                if random.random_bool(0.5) {
                    muscle.clone()
                } else {
                    beside.clone()
                }
            }
            Some(_) | None => said,
        }
    }

    fn named(&self, asked: &MuscleKey, list: &[MuscleKey], random: &mut ChaCha8Rng) -> MuscleKey {
        for (from, to, chance) in &self.planted {
            if asked.as_str() == *from && random.random_bool(*chance) {
                return MuscleKey::new(*to);
            }
        }
        if random.random_bool(self.knows) {
            return asked.clone();
        }
        if let Some((favourite, chance)) = self.favourite
            && asked.as_str() != favourite
            && random.random_bool(chance)
        {
            return MuscleKey::new(favourite);
        }
        let others: Vec<&MuscleKey> = list.iter().filter(|other| *other != asked).collect();
        others[random.random_range(0..others.len())].clone()
    }
}

fn opened(round: RoundNo, asked: &Asked) -> Event {
    let name = |muscle: &MuscleKey| muscle.as_str().replace('-', " ");
    let offer = |muscle: &MuscleKey| Offered { muscle: muscle.clone(), name: name(muscle) };
    let Asked { muscle, beside } = asked;
    let offered = beside.iter().flat_map(|beside| [offer(muscle), offer(beside)]).collect();
    Event::RoundOpened {
        round,
        task: if beside.is_some() { Task::Contrast } else { Task::Name },
        muscle: muscle.clone(),
        name: name(muscle),
        latin: String::new(),
        offered,
        clues: Vec::new(),
        limit_ms: 30_000,
    }
}

fn answered(round: RoundNo, student: StudentId, asked: &MuscleKey, said: &MuscleKey) -> Event {
    Event::Answered(Answer {
        round,
        student,
        attempt: AttemptId(Uuid::nil()),
        typed: String::new(),
        said: Some(said.clone()),
        movement: None,
        said_name: Some(said.as_str().replace('-', " ")),
        spelling: SpellingFound::Exact,
        exact: asked == said,
        credit: if asked == said { 1.0 } else { 0.0 },
        elapsed_ms: 9_000,
        limit_ms: Some(30_000),
        clues: 1,
        hasty: false,
    })
}
