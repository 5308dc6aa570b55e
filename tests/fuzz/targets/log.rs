//! Any events as a log: no review, or one that can be gone on with, forgotten from, and asked for
//! its standings.
#![no_main]

use std::sync::LazyLock;

use libfuzzer_sys::fuzz_target;
use myonym_content::{Catalogue, Course};
use myonym_engine::{Command, Input, Logged, Review, standings};
use myonym_wire::{Millis, Seq};

static COURSE: LazyLock<Course> = LazyLock::new(|| {
    let catalogue = Catalogue::bundled();
    let list = catalogue.lists().next().expect("a list");
    Course::new(catalogue, list).expect("a bundled list can be played")
});

fuzz_target!(|text: &str| {
    let events = text.lines().filter_map(|line| serde_json::from_str::<Logged>(line).ok());
    // Numbers are the log's own; those of the text would only break it off at once.
    let mut events: Vec<Logged> = (1..).map(Seq).zip(events).map(numbered).collect();
    let Some(mut review) = Review::replay(&events) else { return };
    assert_eq!(review.seq().0, events.len() as u64);
    standings(&review);
    for input in [Input::Tick, Input::Command(Command::Next), Input::Command(Command::End)] {
        let at = review.at();
        for event in review.decide(&COURSE, at, input).events {
            let logged = Logged { seq: review.seq().next(), at, event };
            review.apply(&logged);
            events.push(logged);
        }
    }
    assert_eq!(Review::replay(&events).as_ref(), Some(&review));
});

fn numbered((seq, logged): (Seq, Logged)) -> Logged {
    Logged { seq, at: Millis(logged.at.0.min(1 << 52)), ..logged }
}
