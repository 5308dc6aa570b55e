//! The roster of a class: who may take a seat.

use std::collections::BTreeMap;

use myonym_wire::limits::NAME_CHARS;
use unicode_normalization::UnicodeNormalization as _;

use crate::names;

/// Names, each once.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Roster {
    /// As they are compared, and as they are spelt.
    names: BTreeMap<String, String>,
}

impl Roster {
    /// Reads a roster: a name a line; `#` begins a comment. What is wrong with it is told all at
    /// once, a line each.
    pub(crate) fn read(text: &str) -> Result<Self, Vec<String>> {
        let (mut roster, mut lines, mut wrong) = (Self::default(), BTreeMap::new(), Vec::new());
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        for (number, line) in (1..).zip(text.lines()) {
            let typed = line.split('#').next().unwrap_or_default().trim();
            if typed.is_empty() {
                continue;
            }
            let Some(name) = names::clean(typed) else {
                wrong.push(format!("line {number}: a name has 1 to {NAME_CHARS} characters"));
                continue;
            };
            let before = lines.insert(fold(&name), number);
            if let Some(before) = before {
                wrong.push(format!("line {number}: {name} stands in line {before} already"));
            }
            roster.names.insert(fold(&name), name);
        }
        if roster.names.is_empty() && wrong.is_empty() {
            wrong.push("it holds no name".to_owned());
        }
        if wrong.is_empty() { Ok(roster) } else { Err(wrong) }
    }

    /// The name as it is spelt on the roster.
    pub(crate) fn name(&self, typed: &str) -> Option<&str> {
        self.names.get(&fold(typed)).map(String::as_str)
    }

    /// How many names it has.
    pub(crate) fn len(&self) -> usize {
        self.names.len()
    }
}

/// Whether two names are the same on a roster.
pub(crate) fn same(one: &str, other: &str) -> bool {
    fold(one) == fold(other)
}

/// A name as it is compared: without differences of width, ligature (NFKC, Unicode Standard Annex
/// 15), capitals or spaces.
fn fold(name: &str) -> String {
    let lower = name.nfkc().collect::<String>().to_lowercase();
    // Lower case may come apart again.
    let whole: String = lower.nfkc().collect();
    whole.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_compared_without_capitals_spaces_and_forms() {
        let text =
            "\u{feff}# Lab A\n\n  Mira   Oak  # bench 3\r\nZo\u{eb}\nJose\u{301} Fi\u{f1}o\n";
        let roster = Roster::read(text).unwrap();
        assert_eq!(roster.len(), 3);
        let check = |typed: &str, want: Option<&str>| {
            assert_eq!(roster.name(typed), want, "{typed}");
        };
        check("mira oak", Some("Mira Oak"));
        check(" MIRA  OAK ", Some("Mira Oak"));
        // Full-width letters and a composed letter: compatibility and canonical forms.
        check("\u{ff2d}ira Oak", Some("Mira Oak"));
        check("ZOE\u{308}", Some("Zo\u{eb}"));
        check("jos\u{e9} fi\u{f1}o", Some("Jose\u{301} Fi\u{f1}o"));
        check("Zoe", None);
        check("MiraOak", None);
        check("", None);
        assert!(same("Mira Oak", "mira  oak") && !same("Mira Oak", "Mira Oaks"));
    }

    #[test]
    fn what_is_wrong_is_told_all_at_once() {
        let long = "x".repeat(25);
        let wrong = Roster::read(&format!("Mira Oak\n{long}\nmira oak\n")).unwrap_err();
        assert_eq!(
            wrong,
            ["line 2: a name has 1 to 24 characters", "line 3: mira oak stands in line 1 already",]
        );
        assert_eq!(Roster::read("# nobody\n").unwrap_err(), ["it holds no name"]);
    }
}
