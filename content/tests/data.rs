//! The bundled content loads.

use myonym_content::catalogue::{Catalogue, bundled_files};

#[test]
fn bundled_content_has_no_problem() {
    let problems = Catalogue::load(&bundled_files()).err().unwrap_or_default();
    let lines: Vec<_> = problems.iter().map(ToString::to_string).collect();
    assert!(lines.is_empty(), "\n{}", lines.join("\n"));
}
