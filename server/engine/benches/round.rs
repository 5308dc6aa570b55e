//! What the rules cost: one answer of a class of 300, and a whole round of it; and the least that a
//! program could do with the same answers, to compare with.
//!
//! ```sh
//! cargo bench -p myonym-engine
//! ```

use std::collections::BTreeMap;
use std::hint::black_box;

use divan::counter::ItemsCount;
use divan::{AllocProfiler, Bencher};
use myonym_content::{Catalogue, Course, ListKey, MuscleKey};
use myonym_engine::timing::Sight;
use myonym_engine::{Answering, Command, Input, Logged, Review};
use myonym_wire::{AttemptId, Millis, ReviewId, ReviewSettings, RoundNo, Seq, StudentId};
use uuid::Uuid;

#[global_allocator]
static ALLOCATIONS: AllocProfiler = AllocProfiler::system();

fn main() {
    divan::main();
}

const STUDENTS: u16 = 300;
/// When the round opens and when it is answered, in milliseconds.
const OPENS: u64 = 1_000;
const ANSWERED: u64 = 9_000;

/// A review as a room holds it.
struct Class {
    course: Course,
    review: Review,
}

impl Class {
    /// Seated, with the first round open.
    fn in_a_round() -> Self {
        let catalogue = Catalogue::bundled();
        let list = catalogue.list(&ListKey::new("introductory")).expect("the list is there");
        let course = Course::new(catalogue, list).expect("it makes a course");
        let settings = ReviewSettings { list: "introductory".to_owned(), ..Default::default() };
        let review = ReviewId(Uuid::from_u128(1));
        let event = myonym_engine::open(review, &course, &settings, 1, |_| false);
        let event = event.expect("settings that can be");
        let first = Logged { seq: Seq(1), at: Millis(0), event };
        let mut class = Self { review: Review::first(&first).expect("it opens"), course };
        for number in 0..STUDENTS {
            class.tell(0, Input::Seat { student: student(number), listed: true });
        }
        class.tell(OPENS, Input::Command(Command::Start));
        class
    }

    /// Decides, and applies what follows until nothing more does, as a room does.
    fn tell(&mut self, at: u64, input: Input) {
        let mut input = Some(input);
        loop {
            let given = input.take().unwrap_or(Input::Tick);
            let told = given != Input::Tick;
            let events = self.review.decide(&self.course, Millis(at), given).events;
            if events.is_empty() && !told {
                return;
            }
            for event in events {
                let logged = Logged { seq: self.review.seq().next(), at: Millis(at), event };
                self.review.apply(&logged);
            }
        }
    }

    /// Everyone's answers: two in three right, some of these misspelt, the others taken for another.
    fn answers(&self) -> Vec<Answering> {
        let items = self.course.items();
        let asked = asked(&self.review);
        let asked = items.iter().position(|item| item.muscle == asked).expect("it is of the list");
        let answer = |number: u16| {
            let away = usize::from(number % 3 == 2) * usize::from(number % 7);
            let name = &items[(asked + away) % items.len()].name;
            let text =
                if number.is_multiple_of(10) { name.replacen('e', "a", 1) } else { name.clone() };
            let (student, attempt) = (student(number), AttemptId(Uuid::from_u128(number.into())));
            let claimed = Millis(ANSWERED - OPENS);
            Answering {
                student,
                round: RoundNo(1),
                attempt,
                text,
                claimed,
                sight: Sight::default(),
            }
        };
        (0..STUDENTS).map(answer).collect()
    }
}

fn student(number: u16) -> StudentId {
    StudentId(Uuid::from_u128(u128::from(number) << 64))
}

fn asked(review: &Review) -> MuscleKey {
    review.plan().first().expect("a round").muscle.clone()
}

/// One answer, judged. It is not applied, so that each is the first of its student.
#[divan::bench]
fn answer(bencher: Bencher<'_, '_>) {
    let class = Class::in_a_round();
    let answers = class.answers();
    let mut next = answers.into_iter().cycle().map(Input::Answer);
    bencher
        .with_inputs(|| next.next().expect("it begins anew"))
        .bench_local_values(|answer| class.review.decide(&class.course, Millis(ANSWERED), answer));
}

/// A round of 300: every answer judged and applied, the round closed and revealed.
#[divan::bench(sample_count = 30)]
fn round(bencher: Bencher<'_, '_>) {
    let class = Class::in_a_round();
    let answers = class.answers();
    let fresh = || Class { course: class.course.clone(), review: class.review.clone() };
    bencher.counter(ItemsCount::new(answers.len())).with_inputs(fresh).bench_values(|mut class| {
        for answer in &answers {
            class.tell(ANSWERED, Input::Answer(answer.clone()));
        }
        class.tell(ANSWERED, Input::Command(Command::Reveal));
        class
    });
}

/// The least that could be done with as many answers: names looked up as they stand, and counted.
#[divan::bench]
fn plain_round(bencher: Bencher<'_, '_>) {
    let class = Class::in_a_round();
    let answers = class.answers();
    let names: BTreeMap<&str, usize> =
        class.course.items().iter().map(|item| item.name.as_str()).zip(0..).collect();
    bencher.counter(ItemsCount::new(answers.len())).bench(|| {
        let mut counts = vec![0_u32; names.len()];
        for answer in black_box(&answers) {
            if let Some(at) = names.get(answer.text.as_str()) {
                counts[*at] += 1;
            }
        }
        counts
    });
}
