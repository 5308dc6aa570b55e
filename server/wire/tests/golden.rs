//! One example of every message, in JSON as another client would write or read it.
//!
//! They stand in `server/wire/golden/`, are read and written back unchanged, and cover every type
//! that the schema names, so that a change of the protocol shows here.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a broken test may break")]

use std::collections::BTreeSet;
use std::path::Path;

use myonym_wire::{FromInstructor, FromStudent, Hello, Task, ToBoard, ToInstructor, ToStudent};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;

fn check<T: Serialize + DeserializeOwned>(direction: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("golden/{direction}.json"));
    let text = std::fs::read_to_string(path).unwrap();
    let examples: Vec<Value> = serde_json::from_str(&text).unwrap();
    let mut seen = BTreeSet::new();
    for example in examples {
        let message: T = myonym_wire::decode(&example.to_string())
            .unwrap_or_else(|fault| panic!("{direction}: {fault}: {example}"));
        let back: Value = serde_json::from_str(&myonym_wire::encode(&message)).unwrap();
        assert_eq!(back, example, "{direction}");
        seen.insert(example["type"].as_str().unwrap().to_owned());
    }
    assert_eq!(seen, types_in_schema(direction), "{direction}: one example of each type");
}

fn types_in_schema(direction: &str) -> BTreeSet<String> {
    let file = format!("{direction}.json");
    let (_, schema) =
        myonym_wire::schema::all().into_iter().find(|(name, _)| *name == file).unwrap();
    let schema = schema.to_value();
    let variants = schema["oneOf"].as_array().unwrap().clone();
    variants
        .iter()
        .map(|variant| variant["properties"]["type"]["const"].as_str().unwrap().to_owned())
        .collect()
}

#[test]
fn every_message_is_read_and_written_back_unchanged() {
    check::<Hello>("hello");
    check::<FromStudent>("from_student");
    check::<ToStudent>("to_student");
    check::<FromInstructor>("from_instructor");
    check::<ToInstructor>("to_instructor");
    check::<ToBoard>("to_board");
}

/// What the whole room hears is encoded once, as a student's message: an instructor's client must
/// read it as the same thing.
#[test]
fn an_instructor_reads_what_the_class_is_told() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("golden/to_student.json");
    let examples: Vec<Value> =
        serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    let own = [
        "seated",
        "received",
        "recorded",
        "which_one",
        "unknown_name",
        "result",
        "summary",
        "time_changed",
        "removed",
    ];
    for example in examples {
        let message: ToInstructor = myonym_wire::decode(&example.to_string()).unwrap();
        if own.contains(&example["type"].as_str().unwrap()) {
            assert_eq!(message, ToInstructor::Unknown, "{example}");
        } else {
            let back: Value = serde_json::from_str(&myonym_wire::encode(&message)).unwrap();
            assert_eq!(back, example);
        }
    }
}

/// Clients and servers of different ages may meet: what came later may be missing.
#[test]
fn a_message_of_an_older_program_is_read() {
    let opened = r#"{"type": "round_opened", "seq": 41, "round": 3, "of": 18, "limit_ms": 45000,
        "clue_count": 4, "clue": {"kind": "action", "text": "It abducts the arm."}}"#;
    let ToStudent::RoundOpened { task, clue, .. } = myonym_wire::decode(opened).unwrap() else {
        panic!("not an opening");
    };
    assert_eq!((task, clue.picture), (Task::Name, None));
    let revealed = r#"{"type": "revealed", "seq": 72, "round": 3, "reveal": {
        "answer": {"name": "deltoid", "latin": "musculus deltoideus"}, "clues": [], "spread": [],
        "silent": 1, "contrast": null}}"#;
    let ToStudent::Revealed { reveal, .. } = myonym_wire::decode(revealed).unwrap() else {
        panic!("not a reveal");
    };
    assert_eq!((reveal.task, reveal.pictures.len()), (Task::Name, 0));
    let open = r#"{"type": "open", "key": "0123456789abcdef0123456789abcdef", "settings": {}}"#;
    let Hello::Open { settings, .. } = myonym_wire::decode(open).unwrap() else {
        panic!("not an opening");
    };
    assert_eq!((settings.tasks, settings.section), (vec![Task::Name], None));
    let join = r#"{"type": "join", "word": "radius-talus", "name": "Iris"}"#;
    let Hello::Join { person, group, .. } = myonym_wire::decode(join).unwrap() else {
        panic!("not a student");
    };
    assert_eq!((person, group), (None, None));
}

#[test]
fn a_message_of_before_reviews_were_planned_is_read() {
    let opened = r#"{"type": "round_opened", "seq": 41, "round": 3, "of": 18, "task": "name",
        "example": null, "limit_ms": 45000, "clue_count": 4,
        "clue": {"kind": "action", "text": "It abducts the arm."}}"#;
    let ToStudent::RoundOpened { offered, .. } = myonym_wire::decode(opened).unwrap() else {
        panic!("not an opening");
    };
    assert_eq!(offered, Vec::<String>::new());
    let conducting = r#"{"type": "conducting", "seq": 1, "key": null, "review": {
        "review": "01890a5d-ac96-774b-bcce-b302099a8057", "word": "radius-talus", "list": "shoulder",
        "rounds": 18, "limit_ms": 45000, "rule": "speed_weighted", "spelling": "tolerant",
        "pace": {"kind": "instructor"}}, "addresses": [], "moment": {"phase": "gathering"},
        "roll": [], "weak_spots": {"hardest": [], "pairs": []}}"#;
    let ToInstructor::Conducting { review, coming, secure, .. } =
        myonym_wire::decode(conducting).unwrap()
    else {
        panic!("not conducting");
    };
    assert_eq!((review.adaptive, coming, secure), (false, None, false));
    let open = r#"{"type": "open", "key": "0123456789abcdef0123456789abcdef", "settings": {}}"#;
    let Hello::Open { settings, .. } = myonym_wire::decode(open).unwrap() else {
        panic!("not an opening");
    };
    assert!(!settings.adaptive);
}
