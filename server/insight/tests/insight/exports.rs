//! Answers handed on: checked against the standards that they claim to follow.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::File;

use jsonschema::Validator;
use myonym_content::MuscleKey;
use myonym_insight::analysis::Named;
use myonym_insight::export::parquet::ROWS_OF_A_GROUP;
use myonym_insight::export::{self, AnswerRecord, Score, xapi};
use myonym_wire::{ReviewId, RoundNo, Task};
use parquet::file::reader::{FileReader as _, SerializedFileReader};
use parquet::record::{Field, Row};
use serde_json::{Value, json};

use crate::samples::ODD;

fn record(number: u16) -> AnswerRecord {
    let names = ["teres minor", "teres major", "deltoid"];
    let name = names[usize::from(number) % names.len()];
    AnswerRecord {
        pseudonym: format!("p-{}", number % 25),
        review: ReviewId(uuid::Uuid::from_u128(0x0195_5a4e_7000_7000_8000_0000_0000_0001)),
        opened_s: 1_772_442_900,
        section: (!number.is_multiple_of(4)).then(|| "Monday section".to_owned()),
        list: "shoulder, introductory course".to_owned(),
        round: RoundNo(number / 25 + 1),
        task: [Task::Name, Task::Picture, Task::Movement][usize::from(number / 25) % 3],
        asked: Named { key: MuscleKey::new(name.replace(' ', "-")), name: name.to_owned() },
        answer: (!number.is_multiple_of(5)).then(|| "teres major".to_owned()),
        right: number % 3 == 1,
        score: Score::new(62.5, -100.0, 100.0, 0.625).unwrap(),
        elapsed_ms: 8_249 + u64::from(number),
        at_ms: 61_005 + u64::from(number) * 1_000,
    }
}

fn schema() -> Validator {
    let text = include_str!("../../../../tests/reference/xapi/statement.schema.json");
    jsonschema::validator_for(&serde_json::from_str(text).unwrap()).unwrap()
}

/// What the schema cannot say, xAPI 1.0.3, part two, 2.4.5.1.
fn score_fits(statement: &Value) -> bool {
    let part = |name: &str| statement["result"]["score"][name].as_f64().unwrap();
    part("min") < part("max") && part("min") <= part("raw") && part("raw") <= part("max")
}

#[test]
fn statements_follow_the_standard() {
    let schema = schema();
    for number in 0..100 {
        let statement = xapi::statement(&record(number));
        let errors: Vec<String> = schema.iter_errors(&statement).map(|e| e.to_string()).collect();
        assert_eq!(errors, Vec::<String>::new(), "{statement:#}");
        assert!(score_fits(&statement));
    }
}

#[test]
fn odd_text_follows_the_standard_too() {
    let schema = schema();
    for odd in ODD.iter().chain(&["a[,]b", "%", "ümläut/é", " "]) {
        let mut record = record(1);
        record.section = Some((*odd).to_owned());
        record.list = (*odd).to_owned();
        record.answer = Some((*odd).to_owned());
        record.asked.name = (*odd).to_owned();
        record.asked.key = MuscleKey::new((*odd).to_owned());
        let statement = xapi::statement(&record);
        let errors: Vec<String> = schema.iter_errors(&statement).map(|e| e.to_string()).collect();
        assert_eq!(errors, Vec::<String>::new(), "{statement:#}");
    }
}

/// The schema does refuse what the standard refuses.
#[test]
fn faulty_statements_are_refused() {
    let schema = schema();
    let refused = |change: &dyn Fn(&mut Value)| {
        let mut statement = xapi::statement(&record(1));
        assert!(schema.is_valid(&statement));
        change(&mut statement);
        !schema.is_valid(&statement)
    };
    assert!(refused(&|s| s["actor"]["name"] = json!("somebody")));
    assert!(refused(&|s| s["actor"]["account"]["homePage"] = json!("myonym")));
    assert!(refused(&|s| s["object"]["id"] = json!("teres minor")));
    assert!(refused(&|s| s["object"]["definition"]["interactionType"] = json!("fill")));
    assert!(refused(&|s| s["object"]["definition"]["choices"] = json!([])));
    assert!(refused(&|s| s["result"]["score"]["scaled"] = json!(1.2)));
    assert!(refused(&|s| s["result"]["success"] = json!("true")));
    assert!(refused(&|s| s["result"]["response"] = Value::Null));
    assert!(refused(&|s| s["result"]["duration"] = json!("P4W1D")));
    assert!(refused(&|s| s["result"]["duration"] = json!("8.2")));
    assert!(refused(&|s| s["context"]["registration"] = json!("radius-talus")));
    assert!(refused(&|s| s["context"]["contextActivities"]["list"] = json!([])));
    assert!(refused(&|s| s["context"]["extensions"] = json!({ "round": 1 })));
    assert!(refused(&|s| s["timestamp"] = json!("2026-03-02T09:15:00Z")));
    assert!(refused(&|s| s["timestamp"] = json!("2026-03-02 09:15:00.000Z")));
    assert!(refused(&|s| s["version"] = json!("2.0.0")));
}

#[test]
fn one_statement_in_full() {
    insta::assert_json_snapshot!("xapi_statement", xapi::statement(&record(1)));
}

/// A store keeps one statement of an id, so the same answer always has the same, and no two
/// answers have.
#[test]
fn a_second_export_does_not_double() {
    let export = || {
        let mut bytes = Vec::new();
        assert_eq!(xapi::write((0..200).map(record), &mut bytes).unwrap(), 200);
        bytes
    };
    assert_eq!(export(), export());
    let statements: Vec<Value> = serde_json::from_slice(&export()).unwrap();
    let ids: BTreeSet<&str> = statements.iter().filter_map(|s| s["id"].as_str()).collect();
    assert_eq!(ids.len(), 200);
    let mut none = Vec::new();
    assert_eq!(xapi::write([], &mut none).unwrap(), 0);
    assert_eq!(serde_json::from_slice::<Vec<Value>>(&none).unwrap(), Vec::<Value>::new());
}

/// Several movements may be right, so none is given as the pattern of all of them.
#[test]
fn a_movement_has_no_single_right_response() {
    let pattern = |task| {
        let record = AnswerRecord { task, ..record(1) };
        xapi::statement(&record)["object"]["definition"]["correctResponsesPattern"].clone()
    };
    assert_eq!(pattern(Task::Name), json!(["teres major"]));
    assert_eq!(pattern(Task::Picture), json!(["teres major"]));
    assert_eq!(pattern(Task::Movement), Value::Null);
}

/// A file of so many answers, ready to read.
fn table(count: u16) -> SerializedFileReader<File> {
    let mut file = tempfile::tempfile().unwrap();
    let written = export::parquet::write((0..count).map(record), &mut file).unwrap();
    assert_eq!(written, u64::from(count));
    SerializedFileReader::new(file).unwrap()
}

fn cell(row: &Row, name: &str) -> Field {
    row.get_column_iter().find(|(column, _)| *column == name).unwrap().1.clone()
}

#[test]
fn a_table_reads_back() {
    let reader = table(300);
    let rows: Vec<Row> = reader.get_row_iter(None).unwrap().map(Result::unwrap).collect();
    assert_eq!(rows.len(), 300);
    for (number, row) in (0..300).zip(&rows) {
        let want = record(number);
        let text = |text: Option<String>| text.map_or(Field::Null, Field::Str);
        let check = |name: &str, want: Field| assert_eq!(cell(row, name), want, "{name}");
        check("pseudonym", Field::Str(want.pseudonym));
        check("review", Field::Str(want.review.to_string()));
        check("section", text(want.section));
        check("list", Field::Str(want.list));
        check("round", Field::Long(i64::from(want.round.0)));
        check("asked_key", Field::Str(want.asked.key.as_str().to_owned()));
        check("asked", Field::Str(want.asked.name));
        check("answer", text(want.answer));
        check("is_right", Field::Bool(want.right));
        check("score_raw", Field::Double(62.5));
        check("score_min", Field::Double(-100.0));
        check("score_max", Field::Double(100.0));
        check("score_scaled", Field::Double(0.625));
        check("elapsed_ms", Field::Long(8_249 + i64::from(number)));
        check("into_review_ms", Field::Long(61_005 + i64::from(number) * 1_000));
        let moment = 1_772_442_900_000 + 61_005 + i64::from(number) * 1_000;
        check("answered_at", Field::TimestampMillis(moment));
    }
    let tasks: BTreeSet<String> = rows.iter().map(|row| cell(row, "task").to_string()).collect();
    assert_eq!(tasks, BTreeSet::from(["name", "picture", "movement"].map(|t| format!("\"{t}\""))));
}

#[test]
fn the_file_says_what_its_columns_hold() {
    let reader = table(1);
    let file = reader.metadata().file_metadata();
    let said: BTreeMap<&str, &str> = file
        .key_value_metadata()
        .unwrap()
        .iter()
        .map(|said| (said.key.as_str(), said.value.as_deref().unwrap_or_default()))
        .collect();
    let columns = file.schema_descr().columns();
    assert_eq!(columns.len(), 17);
    for column in columns {
        let said = said[format!("column.{}", column.name()).as_str()];
        assert!(said.len() > 8, "{}: {said}", column.name());
    }
}

/// Rows leave in groups, so that a long export needs no more memory than a short one.
#[test]
fn rows_are_written_in_groups() {
    let groups = |count| table(count).metadata().num_row_groups();
    let full = u16::try_from(ROWS_OF_A_GROUP).unwrap();
    assert_eq!(groups(0), 0);
    assert_eq!(groups(full), 1);
    assert_eq!(groups(full + 1), 2);
}
