//! What review a seed plays.

use std::sync::{Arc, OnceLock};

use myonym_content::{Catalogue, Course, ListKey};
use myonym_wire::{Pace, ReviewSettings, ScoreRule, Spelling, Task};
use rand::RngExt as _;
use rand::rngs::ChaCha8Rng;
use rand::seq::{IndexedRandom as _, SliceRandom as _};

use super::fault::{Fault, Faults};

const LISTS: [&str; 2] = ["shoulder", "rotator-cuff"];

/// The muscle lists, made ready once.
fn courses() -> &'static [Arc<Course>] {
    static COURSES: OnceLock<Vec<Arc<Course>>> = OnceLock::new();
    COURSES.get_or_init(|| {
        let catalogue = Catalogue::bundled();
        let lists = LISTS.iter().filter_map(|key| catalogue.list(&ListKey::new(*key)));
        let courses = lists.filter_map(|list| Course::new(catalogue, list).ok());
        courses.map(Arc::new).collect()
    })
}

/// A list and settings.
pub(super) fn draw(random: &mut ChaCha8Rng, faults: &mut Faults) -> (Arc<Course>, ReviewSettings) {
    let course = courses().choose(random).expect("the lists are bundled").clone();
    let reveal_ms = random.random_range(300..2_500);
    let pace = match random.random_range(0..4) {
        0 => {
            faults.count(Fault::Automatic);
            Pace::Automatic { reveal_ms }
        }
        1 => {
            faults.count(Fault::Group);
            Pace::Group { reveal_ms }
        }
        _ => Pace::Instructor,
    };
    let strict = random.random_bool(0.25);
    let signed = random.random_bool(0.3);
    for (fault, happens) in [(Fault::Strict, strict), (Fault::Signed, signed)] {
        if happens {
            faults.count(fault);
        }
    }
    let settings = ReviewSettings {
        list: course.list().key.as_str().to_owned(),
        rounds: random.random_range(2..=6),
        limit_ms: random.random_range(2_000..9_000),
        tasks: tasks(random),
        rule: if signed { ScoreRule::SignedResidualTime } else { ScoreRule::SpeedWeighted },
        spelling: if strict { Spelling::Strict } else { Spelling::Tolerant },
        pace,
        adaptive: random.random_bool(0.25),
        section: None,
    };
    (course, settings)
}

fn tasks(random: &mut ChaCha8Rng) -> Vec<Task> {
    let mut tasks = vec![Task::Name, Task::Movement, Task::Contrast, Task::Picture];
    tasks.shuffle(random);
    // A picture is by far the dearest to draw.
    let dear = random.random_bool(0.7);
    tasks.truncate(random.random_range(1..=3));
    tasks.retain(|task| !dear || *task != Task::Picture);
    if tasks.is_empty() { vec![Task::Name] } else { tasks }
}
