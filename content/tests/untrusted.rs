//! A data file comes from anyone: whatever is in it, the check ends with problems and never panics.

use myonym_content::catalogue::bundled_files;
use myonym_content::check::check;
use myonym_content::problem::SourceFile;
use proptest::prelude::*;
use proptest::sample::Index;

/// One change of a text.
#[derive(Debug, Clone)]
enum Edit {
    Remove(Index, usize),
    Insert(Index, String),
    /// Puts a piece of the text somewhere else.
    Repeat(Index, Index, usize),
}

fn edit() -> impl Strategy<Value = Edit> {
    let piece = prop_oneof![
        Just("\"".to_owned()),
        Just("[[muscle]]\n".to_owned()),
        Just("[".to_owned()),
        Just("= {".to_owned()),
        any::<String>(),
    ];
    prop_oneof![
        (any::<Index>(), 1..40_usize).prop_map(|(at, count)| Edit::Remove(at, count)),
        (any::<Index>(), piece).prop_map(|(at, piece)| Edit::Insert(at, piece)),
        (any::<Index>(), any::<Index>(), 1..400_usize)
            .prop_map(|(at, from, count)| Edit::Repeat(at, from, count)),
    ]
}

fn apply(text: &str, edit: &Edit) -> String {
    let mut letters: Vec<char> = text.chars().collect();
    let spot = |index: &Index| index.index(letters.len() + 1);
    let end = |start: usize, count: usize| (start + count).min(letters.len());
    match edit {
        Edit::Remove(at, count) => {
            let start = spot(at);
            letters.drain(start..end(start, *count));
        }
        Edit::Insert(at, piece) => {
            let start = spot(at);
            letters.splice(start..start, piece.chars());
        }
        Edit::Repeat(at, from, count) => {
            let (start, from) = (spot(at), spot(from));
            let piece = letters[from..end(from, *count)].to_vec();
            letters.splice(start..start, piece);
        }
    }
    letters.into_iter().collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    #[test]
    fn an_edited_file_is_checked_to_the_end(
        which in any::<Index>(),
        edits in prop::collection::vec(edit(), 1..6),
    ) {
        let mut file = which.get(&bundled_files()).clone();
        file.text = edits.iter().fold(file.text, |text, edit| apply(&text, edit));
        let lines = file.text.lines().count() + 1;
        for problem in check(std::slice::from_ref(&file)) {
            prop_assert!(problem.line >= 1 && problem.column >= 1 && !problem.message.is_empty());
            prop_assert!(problem.file != file.path || problem.line <= lines, "{problem}");
        }
    }

    #[test]
    fn any_text_is_checked_to_the_end(text in any::<String>()) {
        check(&[SourceFile { path: "any.toml".to_owned(), text }]);
    }
}
