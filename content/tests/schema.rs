//! The committed JSON Schema is that of the types. Run with `UPDATE_SCHEMA=1` to write it anew.

use std::path::Path;

use myonym_content::file::schema;

#[test]
fn committed_schema_is_that_of_the_types() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("schema/content.schema.json");
    let expected = serde_json::to_value(schema()).unwrap();
    if std::env::var_os("UPDATE_SCHEMA").is_some() {
        std::fs::write(&path, serde_json::to_string_pretty(&expected).unwrap() + "\n").unwrap();
    }
    let committed = std::fs::read_to_string(&path).unwrap_or_default();
    let committed: serde_json::Value = serde_json::from_str(&committed).unwrap_or_default();
    assert!(
        committed == expected,
        "content/schema/content.schema.json is out of date: run this test with UPDATE_SCHEMA=1"
    );
}
