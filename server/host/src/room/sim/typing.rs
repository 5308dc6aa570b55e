//! What students type.

use myonym_content::Course;
use myonym_engine::{Event, Makes};
use myonym_wire::Task;
use rand::RngExt as _;
use rand::rngs::ChaCha8Rng;
use rand::seq::IndexedRandom as _;

use super::fault::{Fault, Faults};

const MOVEMENTS: [&str; 6] =
    ["flexion", "lateral rotation", "elbow flexion", "abduction", "rotation", "winging"];
/// Halves of names, each of several muscles of the shoulder.
const HALVES: [&str; 3] = ["teres", "pectoralis", "rhomboid"];

/// An answer to the round that an event opened: right, wrong, misspelt, half a name, or nothing.
pub(super) fn typed(
    opened: &Event,
    course: &Course,
    random: &mut ChaCha8Rng,
    faults: &mut Faults,
) -> String {
    let Event::RoundOpened { task, muscle, name, latin, offered, .. } = opened else {
        return String::new();
    };
    let right = match task {
        Task::Movement => {
            let makes = Makes::of(course, muscle).names(course);
            makes.choose(random).cloned().unwrap_or_else(|| "flexion".to_owned())
        }
        Task::Name | Task::Picture | Task::Contrast => name.clone(),
    };
    match random.random_range(0..100) {
        0..42 => right,
        42..47 => latin.clone(),
        47..55 => misspelt(&right, random),
        55..62 => {
            faults.count(Fault::Ambiguous);
            HALVES.choose(random).copied().unwrap_or("teres").to_owned()
        }
        62..67 => "hippocampus".to_owned(),
        67..70 => {
            faults.count(Fault::Unreadable);
            if random.random_bool(0.5) { " .".to_owned() } else { "deltoid ".repeat(20) }
        }
        _ => wrong(*task, offered.first().map(|one| one.name.as_str()), course, random),
    }
}

fn wrong(task: Task, offered: Option<&str>, course: &Course, random: &mut ChaCha8Rng) -> String {
    if task == Task::Movement {
        return MOVEMENTS.choose(random).copied().unwrap_or("flexion").to_owned();
    }
    match offered {
        Some(name) if random.random_bool(0.8) => name.to_owned(),
        _ => course.items().choose(random).map(|item| item.name.clone()).unwrap_or_default(),
    }
}

/// Two letters in each other's place.
fn misspelt(name: &str, random: &mut ChaCha8Rng) -> String {
    let mut letters: Vec<char> = name.chars().collect();
    if letters.len() > 4 {
        let at = random.random_range(1..letters.len() - 2);
        letters.swap(at, at + 1);
    }
    letters.into_iter().collect()
}
