//! Any text as any message: it is refused in words, or it is a message that is written and read
//! again as the same.
#![no_main]

use libfuzzer_sys::fuzz_target;
use myonym_wire::{FromInstructor, FromStudent, Hello, ToBoard, ToInstructor, ToStudent};
use serde::Serialize;
use serde::de::DeserializeOwned;

fn check<T: Serialize + DeserializeOwned + PartialEq + std::fmt::Debug>(text: &str) {
    match myonym_wire::decode::<T>(text) {
        Ok(message) => {
            let again = myonym_wire::decode::<T>(&myonym_wire::encode(&message));
            assert_eq!(again.as_ref(), Ok(&message));
        }
        Err(fault) => assert!(fault.message.chars().count() <= 200 && !fault.message.is_empty()),
    }
}

fuzz_target!(|text: &str| {
    check::<Hello>(text);
    check::<FromStudent>(text);
    check::<FromInstructor>(text);
    check::<ToStudent>(text);
    check::<ToInstructor>(text);
    check::<ToBoard>(text);
});
