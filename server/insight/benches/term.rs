//! What a term costs once it is read: to table it, and to analyse the table.
//!
//! The term is made up as that of `myonym-loadtest` is, but smaller and without a file: 25 reviews of
//! 200 students and 20 rounds, 100,000 rows.
//!
//! ```sh
//! cargo bench -p myonym-insight
//! ```

use divan::Bencher;
use divan::counter::ItemsCount;
use myonym_content::{Catalogue, Clue, Course, ListKey, MuscleKey};
use myonym_engine::{Answer, Event, SpellingFound};
use myonym_insight::analysis::{ReviewWords, analyse};
use myonym_insight::observe::{Observations, Observer, ReviewTag, Sitting};
use myonym_wire::{AttemptId, CloseWhy, ReviewId, RoundNo, StudentId, Task};
use rand::rngs::ChaCha8Rng;
use rand::{RngExt as _, SeedableRng as _};
use uuid::Uuid;

const LIST: &str = "introductory";
const REVIEWS: u32 = 25;
/// Each has its reviews, in which the same students come back.
const SECTIONS: u32 = 5;
const STUDENTS: u32 = 200;
const ROUNDS: u16 = 20;
const ROWS: u64 = REVIEWS as u64 * STUDENTS as u64 * ROUNDS as u64;
const LIMIT_MS: u32 = 45_000;

fn main() {
    divan::main();
}

/// From events to the table.
#[divan::bench(sample_count = 20)]
fn observe(bencher: Bencher<'_, '_>) {
    let reviews = made_up();
    bencher.counter(ItemsCount::new(ROWS)).bench(|| table(divan::black_box(&reviews)));
}

/// From the table to the report.
#[divan::bench(sample_count = 20)]
fn analysis(bencher: Bencher<'_, '_>) {
    let table = table(&made_up());
    let word = ReviewWords { word: String::new(), opened: String::new(), list: String::new() };
    let words = vec![word; table.reviews().len()];
    bencher.counter(ItemsCount::new(ROWS)).bench(|| {
        analyse(Catalogue::bundled(), divan::black_box(&table), &words, Vec::new(), Vec::new())
    });
}

/// A review as it is read.
struct Review {
    tag: ReviewTag,
    seats: Vec<Sitting>,
    events: Vec<Event>,
}

fn table(reviews: &[Review]) -> Observations {
    let mut observer = Observer::default();
    for Review { tag, seats, events } in reviews {
        observer.begin(tag.clone(), seats.iter().cloned());
        for event in events {
            observer.event(event);
        }
    }
    observer.finish()
}

fn made_up() -> Vec<Review> {
    let catalogue = Catalogue::bundled();
    let list = catalogue.list(&ListKey::new(LIST)).expect("the list is in the catalogue");
    let muscles = muscles(&Course::new(catalogue, list).expect("it makes a course"));
    let mut random = ChaCha8Rng::seed_from_u64(1);
    (0..REVIEWS).map(|number| review(number, &muscles, &mut random)).collect()
}

struct MuscleOf {
    key: MuscleKey,
    name: String,
    latin: String,
    clues: Vec<Clue>,
    /// In logits above the mean.
    difficulty: f64,
}

fn muscles(course: &Course) -> Vec<MuscleOf> {
    let mut random = ChaCha8Rng::seed_from_u64(0);
    let muscle = |item: &myonym_content::Item| MuscleOf {
        key: item.muscle.clone(),
        name: item.name.clone(),
        latin: item.latin.clone(),
        clues: item.clues.iter().map(|clue| clue.clue.clone()).collect(),
        difficulty: random.random_range(-1.5..1.5),
    };
    course.items().iter().map(muscle).collect()
}

fn review(number: u32, muscles: &[MuscleOf], random: &mut ChaCha8Rng) -> Review {
    let section = number % SECTIONS;
    let tag = ReviewTag {
        review: ReviewId(Uuid::from_u128(random.random())),
        section: Some(format!("Section {}", section + 1)),
        opened_s: i64::from(number),
        list: ListKey::new(LIST),
        adaptive: false,
    };
    let seat = |place: u32| {
        let mut person = [0; 32];
        person[..4].copy_from_slice(&(section * STUDENTS + place).to_le_bytes());
        let student = StudentId(Uuid::from_u128(random.random()));
        Sitting { student, person: Some(person), group: None }
    };
    let seats: Vec<Sitting> = (0..STUDENTS).map(seat).collect();
    let mut events = Vec::new();
    for round in 1..=ROUNDS {
        play(RoundNo(round), &seats, muscles, random, &mut events);
    }
    Review { tag, seats, events }
}

fn play(
    round: RoundNo,
    seats: &[Sitting],
    muscles: &[MuscleOf],
    random: &mut ChaCha8Rng,
    events: &mut Vec<Event>,
) {
    let asked = random.random_range(0..muscles.len());
    let MuscleOf { key, name, latin, clues, .. } = &muscles[asked];
    events.push(Event::RoundOpened {
        round,
        task: Task::Name,
        muscle: key.clone(),
        name: name.clone(),
        latin: latin.clone(),
        offered: Vec::new(),
        clues: clues.clone(),
        limit_ms: LIMIT_MS,
    });
    let mut silent = Vec::new();
    for (place, seat) in (0_u32..).zip(seats) {
        if random.random_bool(0.03) {
            silent.push(seat.student);
        } else {
            let ability = 3.0 * f64::from(place) / f64::from(STUDENTS) - 1.0;
            let knows = 1.0 / (1.0 + (muscles[asked].difficulty - ability).exp());
            let others = random.random_range(1..4).min(random.random_range(1..4));
            let away = if random.random_bool(knows) { 0 } else { others };
            let said = &muscles[(asked + away) % muscles.len()];
            events.push(Event::Answered(answer(round, seat.student, said, away == 0, random)));
        }
    }
    events.push(Event::RoundClosed { round, why: CloseWhy::TimeUp, silent });
    events.push(Event::Revealed { round, contrast: None });
}

fn answer(
    round: RoundNo,
    student: StudentId,
    said: &MuscleOf,
    right: bool,
    random: &mut ChaCha8Rng,
) -> Answer {
    let misspelt = random.random_bool(0.05);
    Answer {
        round,
        student,
        attempt: AttemptId(Uuid::from_u128(random.random())),
        typed: if misspelt { said.name.replacen('e', "a", 1) } else { said.name.clone() },
        said: Some(said.key.clone()),
        movement: None,
        said_name: Some(said.name.clone()),
        spelling: if misspelt { SpellingFound::Misspelt } else { SpellingFound::Exact },
        exact: right,
        credit: if right { 1.0 } else { 0.0 },
        elapsed_ms: random.random_range(2_000..40_000),
        limit_ms: Some(LIMIT_MS),
        clues: random.random_range(1..4),
        hasty: false,
    }
}
