//! JSON text to messages and back.

use std::fmt;

use serde::Serialize;
use serde::de::DeserializeOwned;

use crate::ErrorCode;

/// A message as JSON text.
///
/// # Panics
/// Never: every message is made of strings, numbers and lists, which JSON always holds.
pub fn encode<T: Serialize>(message: &T) -> String {
    serde_json::to_string(message).expect("messages are plain data")
}

/// A message from JSON text.
pub fn decode<T: DeserializeOwned>(text: &str) -> Result<T, DecodeError> {
    serde_json::from_str(text).map_err(|error| DecodeError::of(text, &error))
}

/// Why a text is not a message, in words that the sender can use.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DecodeError {
    /// The kind of fault.
    pub code: ErrorCode,
    /// What is wrong.
    pub message: String,
}

impl DecodeError {
    fn of(text: &str, error: &serde_json::Error) -> Self {
        // The text is read a second time only after it failed, to tell the three faults apart.
        let value = serde_json::from_str::<serde_json::Value>(text).unwrap_or_default();
        let tag = value.get("type").and_then(serde_json::Value::as_str);
        let message = error.to_string();
        let code = match tag {
            None => ErrorCode::NotReadable,
            // A field may be an enum as well: only the variant of the message itself is its type.
            Some(tag) if message.starts_with(&format!("unknown variant `{tag}`")) => {
                ErrorCode::UnknownType
            }
            Some(_) => ErrorCode::BadField,
        };
        Self { code, message: message.chars().take(200).collect() }
    }
}

impl fmt::Display for DecodeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for DecodeError {}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{FromStudent, Hello, ToStudent};

    #[test]
    fn faults_are_told_apart() {
        let check = |text: &str, want: ErrorCode| {
            assert_eq!(decode::<FromStudent>(text).map_err(|e| e.code), Err(want), "{text}");
        };
        check("", ErrorCode::NotReadable);
        check("[]", ErrorCode::NotReadable);
        check("{\"type\":3}", ErrorCode::NotReadable);
        check("{}", ErrorCode::NotReadable);
        check("{\"type\":\"dance\"}", ErrorCode::UnknownType);
        check("{\"type\":\"answer\"}", ErrorCode::BadField);
        check("{\"type\":\"leave\",\"now\":1}", ErrorCode::BadField);
    }

    #[test]
    fn a_bad_join_word_is_a_bad_field() {
        let text = "{\"type\":\"join\",\"word\":\"x\",\"name\":\"A\"}";
        assert_eq!(decode::<Hello>(text).map_err(|e| e.code), Err(ErrorCode::BadField));
    }

    #[test]
    fn an_unknown_word_inside_a_field_is_a_bad_field() {
        let pace = r#"{"pace":{"kind":"hasty"}}"#;
        let text = format!(r#"{{"type":"open","key":"{}","settings":{pace}}}"#, "0".repeat(32));
        assert_eq!(decode::<Hello>(&text).map_err(|e| e.code), Err(ErrorCode::BadField));
    }

    #[test]
    fn a_client_ignores_types_that_it_does_not_know() {
        assert_eq!(decode::<ToStudent>("{\"type\":\"later\",\"x\":1}"), Ok(ToStudent::Unknown));
    }
}
