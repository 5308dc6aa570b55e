//! What a message costs to be encoded, or an answer to be decoded; and the plain copy of as many
//! bytes to compare with. What the whole room hears is encoded once, however many hear it.
//!
//! ```sh
//! cargo bench -p myonym-wire
//! ```

use std::hint::black_box;

use divan::counter::BytesCount;
use divan::{AllocProfiler, Bencher};
use myonym_wire::{
    AttemptId, ClueShown, FromStudent, RoundNo, Seq, StandingRow, ToStudent, decode, encode,
};
use uuid::Uuid;

#[global_allocator]
static ALLOCATIONS: AllocProfiler = AllocProfiler::system();

fn main() {
    divan::main();
}

const ROUND: RoundNo = RoundNo(7);
const ATTEMPT: AttemptId = AttemptId(Uuid::from_u128(0x9fba_d983_2432_7cee_3327_97a3_68e3_59f2));

fn clue() -> ToStudent {
    let text = "It inserts on the greater tubercle of the humerus.".to_owned();
    let clue = ClueShown { kind: "insertion".to_owned(), text, picture: None };
    ToStudent::Clue { seq: Seq(4_711), round: ROUND, number: 3, clue }
}

fn recorded() -> ToStudent {
    ToStudent::Recorded { round: ROUND, attempt: ATTEMPT }
}

fn standings() -> ToStudent {
    let row = |place: u32| StandingRow {
        place,
        name: Some(format!("Student {place}")),
        points: 9_876.5 - f64::from(place) * 100.0,
    };
    ToStudent::Standings { seq: Seq(4_712), rows: (1..=10).map(row).collect(), of: 300 }
}

fn measure(bencher: Bencher<'_, '_>, message: &ToStudent) {
    let bytes = BytesCount::new(encode(message).len());
    bencher.counter(bytes).bench(|| encode(black_box(message)));
}

#[divan::bench]
fn encode_clue(bencher: Bencher<'_, '_>) {
    measure(bencher, &clue());
}

#[divan::bench]
fn encode_recorded(bencher: Bencher<'_, '_>) {
    measure(bencher, &recorded());
}

#[divan::bench]
fn encode_standings(bencher: Bencher<'_, '_>) {
    measure(bencher, &standings());
}

/// The floor: the same bytes, copied.
#[divan::bench]
fn copy_standings(bencher: Bencher<'_, '_>) {
    let text = encode(&standings());
    bencher.counter(BytesCount::new(text.len())).bench(|| black_box(&text).clone());
}

#[divan::bench]
fn decode_answer(bencher: Bencher<'_, '_>) {
    let text = "latisimus dorsi".to_owned();
    let message = FromStudent::Answer { round: ROUND, attempt: ATTEMPT, text, elapsed_ms: 12_345 };
    let text = encode(&message);
    let bytes = BytesCount::new(text.len());
    bencher.counter(bytes).bench(|| decode::<FromStudent>(black_box(&text)));
}
