//! Cleaning of the names that people give: to themselves, to their group, to a section.

use myonym_wire::limits::{GROUP_CHARS, NAME_CHARS, SECTION_CHARS};

/// The name of a student as it may be shown: without control, direction-override and invisible
/// characters, with single spaces and at most two combining marks in a row. `None` if nothing is
/// left or it is longer than [`NAME_CHARS`].
pub(crate) fn clean(name: &str) -> Option<String> {
    clean_to(name, NAME_CHARS)
}

/// The name of a group, cleaned alike; at most [`GROUP_CHARS`] long.
pub(crate) fn clean_group(name: &str) -> Option<String> {
    clean_to(name, GROUP_CHARS)
}

/// The name of a section, cleaned alike; at most [`SECTION_CHARS`] long.
pub(crate) fn clean_section(name: &str) -> Option<String> {
    clean_to(name, SECTION_CHARS)
}

/// Whether two cleaned names are the same to a person: capitals do not matter.
pub(crate) fn alike(one: &str, other: &str) -> bool {
    one.to_lowercase() == other.to_lowercase()
}

fn clean_to(name: &str, most: usize) -> Option<String> {
    let mut cleaned = String::new();
    let mut marks = 0;
    // A longer text than this cannot be a name, whatever it holds.
    for c in name.chars().take(most * 8) {
        if is_mark(c) {
            marks += 1;
            if marks > 2 || cleaned.is_empty() {
                continue;
            }
        } else {
            marks = 0;
        }
        if c.is_whitespace() {
            if !cleaned.is_empty() && !cleaned.ends_with(' ') {
                cleaned.push(' ');
            }
        } else if !is_hidden(c) {
            cleaned.push(c);
        }
    }
    // At an edge a joiner joins nothing, and would make two names that look alike.
    let cleaned = cleaned.trim_matches([' ', '\u{200d}']);
    let visible = cleaned.chars().any(|c| !is_mark(c) && c != '\u{200d}');
    let fits = cleaned.chars().filter(|c| !is_mark(*c)).count() <= most;
    (visible && fits && name.chars().count() <= most * 8).then(|| cleaned.to_owned())
}

/// Combining marks and variation selectors: they add to the character before them.
fn is_mark(c: char) -> bool {
    matches!(c, '\u{300}'..='\u{36f}' | '\u{483}'..='\u{489}' | '\u{1ab0}'..='\u{1aff}'
        | '\u{1dc0}'..='\u{1dff}' | '\u{20d0}'..='\u{20ff}' | '\u{fe00}'..='\u{fe2f}')
}

/// Controls, direction marks and overrides, and characters without width. The zero-width joiner
/// stays: family and profession emoji are made with it.
fn is_hidden(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{ad}' | '\u{61c}' | '\u{115f}' | '\u{1160}' | '\u{180e}' | '\u{200b}'
            | '\u{200c}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{2800}' | '\u{3164}' | '\u{feff}' | '\u{ffa0}'
            | '\u{fff0}'..='\u{fffb}' | '\u{e0000}'..='\u{e0fff}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_cleaned() {
        let check = |name: &str, want: Option<&str>| {
            assert_eq!(clean(name).as_deref(), want, "{name:?}");
        };
        check("  Mira   Oak ", Some("Mira Oak"));
        check("Zoë", Some("Zoë"));
        check("नीला", Some("नीला"));
        check("\u{202e}abc\u{2066}", Some("abc"));
        check("a\u{1b}[31mb\n", Some("a[31mb"));
        check("", None);
        check(" \t\u{200b} ", None);
        check("\u{301}", None);
        check("\u{2800}\u{2800}", None);
        check("\u{200d}Mira\u{200d} ", Some("Mira"));
        check("👩\u{200d}🔬", Some("👩\u{200d}🔬"));
        check("<script>", Some("<script>"));
        check(&"x".repeat(24), Some(&"x".repeat(24)));
        check(&"x".repeat(25), None);
        check(&format!("e{}", "\u{301}".repeat(50)), Some("e\u{301}\u{301}"));
        check(&"e\u{301}".repeat(10_000), None);
    }

    #[test]
    fn groups_and_sections_are_cleaned_alike_and_have_lengths_of_their_own() {
        assert_eq!(clean_group("  Bench\t3 ").as_deref(), Some("Bench 3"));
        assert_eq!(clean_group(&"x".repeat(25)), None);
        assert_eq!(clean_section("Lab\u{202e}  A").as_deref(), Some("Lab A"));
        assert_eq!(clean_section(&"x".repeat(40)), Some("x".repeat(40)));
        assert_eq!(clean_section(&"x".repeat(41)), None);
        assert_eq!(clean_section(" "), None);
        assert!(alike("Lab A", "lab a") && !alike("Lab A", "Lab B"));
    }
}
