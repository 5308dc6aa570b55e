//! The committed JSON Schema is that of the types.

use std::path::Path;

#[test]
fn committed_schema_matches_the_types() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("schema");
    for (file, schema) in myonym_wire::schema::all() {
        let text = format!("{}\n", serde_json::to_string_pretty(&schema).unwrap());
        let path = folder.join(file);
        if std::env::var_os("UPDATE_SCHEMA").is_some() {
            std::fs::create_dir_all(&folder).unwrap();
            std::fs::write(&path, &text).unwrap();
        }
        let committed = std::fs::read_to_string(&path).unwrap_or_default();
        assert!(
            committed == text,
            "{file} drifted: UPDATE_SCHEMA=1 cargo test -p myonym-wire writes it anew"
        );
    }
}
