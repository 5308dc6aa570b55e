//! Answers as xAPI 1.0.3 statements, for a learning record store.
//!
//! The standard: Experience API, version 1.0.3, part two (data), Advanced Distributed Learning
//! Initiative; numbers of its sections stand beside what follows from them. Identifiers of our own
//! lie under a host name that is reserved for examples (RFC 2606) and so claims nobody's domain.

use std::io::Write;

use jiff::Timestamp;
use myonym_wire::Task;
use serde_json::{Value, json};
use uuid::Uuid;

use super::{AnswerRecord, ExportError};

/// Writes the answers as a JSON array of statements, one a line, and says how many they are.
///
/// The id of a statement follows from review, round and pseudonym (UUID version 5), so a store
/// that is given the same answers again keeps them once.
pub fn write(
    records: impl IntoIterator<Item = AnswerRecord>,
    to: &mut impl Write,
) -> Result<u64, ExportError> {
    let mut written = 0;
    for record in records {
        to.write_all(if written == 0 { b"[\n" } else { b",\n" })?;
        serde_json::to_writer(&mut *to, &statement(&record))?;
        written += 1;
    }
    to.write_all(if written == 0 { b"[]\n" } else { b"\n]\n" })?;
    Ok(written)
}

/// One answer as a statement.
pub fn statement(record: &AnswerRecord) -> Value {
    json!({
        "id": id(record),
        "actor": {
            "objectType": "Agent",
            "account": { "homePage": format!("{OURS}/pseudonyms"), "name": record.pseudonym },
        },
        "verb": {
            "id": "http://adlnet.gov/expapi/verbs/answered",
            "display": { "en": "answered" },
        },
        "object": {
            "objectType": "Activity",
            "id": iri(&["muscle", record.asked.key.as_str(), record.task_key()]),
            "definition": definition(record),
        },
        "result": result(record),
        "context": {
            "registration": record.review.to_string(),
            "platform": "Myonym",
            "contextActivities": {
                "parent": [activity(&format!("urn:uuid:{}", record.review), "A review")],
                "grouping": grouping(record),
            },
            "extensions": { (format!("{OURS}/round")): record.round.0 },
        },
        "timestamp": timestamp(record.moment_ms()),
    })
}

/// Under this lie the identifiers that we make up.
const OURS: &str = "https://myonym.example/xapi";

/// The name space of statement ids: drawn once at random.
const IDS: Uuid = Uuid::from_u128(0x5f0c_26b1_8c1d_4e0e_9d5a_3b7e_61f2_a948);

fn id(record: &AnswerRecord) -> String {
    let AnswerRecord { review, round, pseudonym, .. } = record;
    let name = format!("{review}/{}/{pseudonym}", round.0);
    Uuid::new_v5(&IDS, name.as_bytes()).to_string()
}

/// 2.4.4.1: an interaction that is filled in. The pattern of right responses is to be exhaustive,
/// so there is one where a single name is right, and none where any of several movements is.
fn definition(record: &AnswerRecord) -> Value {
    let name = &record.asked.name;
    let words = match record.task {
        Task::Name => format!("{name}, named from clues"),
        Task::Picture => format!("{name}, named from a picture"),
        Task::Movement => format!("a movement of {name}, told from its attachments"),
        Task::Contrast => format!("{name}, chosen of two from clues"),
    };
    let mut definition = json!({
        "type": "http://adlnet.gov/expapi/activities/cmi.interaction",
        "interactionType": "fill-in",
        "name": { "en": words },
    });
    if record.task != Task::Movement {
        definition["correctResponsesPattern"] = json!([single(name)]);
    }
    definition
}

/// 2.4.5.
fn result(record: &AnswerRecord) -> Value {
    let score = record.score;
    let mut result = json!({
        "score": {
            "scaled": score.scaled(),
            "raw": score.raw(),
            "min": score.min(),
            "max": score.max(),
        },
        "success": record.right,
        "duration": duration(record.elapsed_ms),
    });
    if let Some(answer) = &record.answer {
        result["response"] = json!(single(answer));
    }
    result
}

/// 2.4.6.2: what the question indirectly belongs to.
fn grouping(record: &AnswerRecord) -> Vec<Value> {
    let list = activity(&iri(&["list", &record.list]), &record.list);
    let section = record.section.as_ref();
    let section = section.map(|section| activity(&iri(&["section", section]), section));
    [list].into_iter().chain(section).collect()
}

fn activity(id: &str, name: &str) -> Value {
    json!({ "objectType": "Activity", "id": id, "definition": { "name": { "en": name } } })
}

/// 2.4.4.1, response patterns: `[,]` would divide one response into two.
fn single(response: &str) -> String {
    response.replace("[,]", ", ")
}

/// 4.6: a period in seconds, no finer than hundredths, cut off like a watch.
fn duration(ms: u64) -> String {
    format!("PT{}.{:02}S", ms / 1_000, ms % 1_000 / 10)
}

/// 4.5: a time in UTC to the millisecond, as in RFC 3339. What lies beyond the calendar is taken
/// as its end.
fn timestamp(ms: i64) -> String {
    let time = Timestamp::from_millisecond(ms).unwrap_or(Timestamp::MAX);
    format!("{time:.3}")
}

/// 4.3: an identifier of ours. All but the unreserved signs of RFC 3986 (2.3) is percent-encoded.
fn iri(parts: &[&str]) -> String {
    let sign = |byte: u8| {
        if byte.is_ascii_alphanumeric() || b"-._~".contains(&byte) {
            char::from(byte).to_string()
        } else {
            format!("%{byte:02X}")
        }
    };
    let encoded = |part: &&str| part.bytes().map(sign).collect::<Vec<_>>().concat();
    let parts: Vec<String> = parts.iter().map(encoded).collect();
    format!("{OURS}/{}", parts.join("/"))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// xAPI 1.0.3, part two, 4.6, and RFC 3339, 5.8 (its first example).
    #[test]
    fn times_as_the_standards_write_them() {
        assert_eq!(duration(16_559_140), "PT16559.14S");
        assert_eq!(duration(0), "PT0.00S");
        assert_eq!(duration(8_249), "PT8.24S");
        assert_eq!(timestamp(482_196_050_520), "1985-04-12T23:20:50.520Z");
        assert_eq!(timestamp(0), "1970-01-01T00:00:00.000Z");
        assert!(timestamp(i64::MAX).starts_with("9999-12-"));
    }

    #[test]
    fn identifiers_hold_unreserved_signs_only() {
        assert_eq!(
            iri(&["muscle", "teres-minor"]),
            "https://myonym.example/xapi/muscle/teres-minor"
        );
        assert_eq!(iri(&["list", "a/b é"]), "https://myonym.example/xapi/list/a%2Fb%20%C3%A9");
    }
}
