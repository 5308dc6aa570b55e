//! Typed text brought to one form: no case, accents, punctuation, or words that name no muscle.

use unicode_normalization::{UnicodeNormalization, char::is_combining_mark};

/// Folds a typed name: compatibility decomposition (NFKD), marks and unseen characters dropped,
/// lower case, ligatures written out, anything that is no letter or digit a space, runs of spaces
/// as one. Words that say only "muscle" are left out, unless nothing else would remain.
///
/// Folding twice is folding once. The work grows linearly with the text.
pub fn fold(typed: &str) -> String {
    let text = if typed.is_ascii() { plain(typed) } else { decomposed(typed) };
    let words: Vec<&str> = text.split_whitespace().collect();
    without_initials(without(words, &CALLING_IT_A_MUSCLE)).join(" ")
}

/// The same for what has no accent or mark to look for, as most names have not.
fn plain(typed: &str) -> String {
    let fold = |c: char| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { ' ' };
    typed.chars().map(fold).collect()
}

fn decomposed(typed: &str) -> String {
    let mut text = String::new();
    for c in typed.nfkd().filter(|c| !is_combining_mark(*c) && !is_unseen(*c)) {
        for lower in c.to_lowercase() {
            match lower {
                'æ' => text.push_str("ae"),
                'œ' => text.push_str("oe"),
                'ß' => text.push_str("ss"),
                'ø' => text.push('o'),
                letter if letter.is_alphanumeric() => text.push(letter),
                _ => text.push(' '),
            }
        }
    }
    text
}

/// Format characters that show nothing: soft hyphen, joiners, marks of writing direction.
fn is_unseen(c: char) -> bool {
    matches!(c,
        '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}'
        | '\u{2060}'..='\u{206f}' | '\u{feff}')
}

fn without<'a>(words: Vec<&'a str>, dropped: &[&str]) -> Vec<&'a str> {
    let kept: Vec<&str> = words.iter().copied().filter(|word| !dropped.contains(word)).collect();
    if kept.is_empty() { words } else { kept }
}

/// Drops `m.` for "musculus", but not from a row of initials: `S.C.M.` is the name itself.
fn without_initials(words: Vec<&str>) -> Vec<&str> {
    let spelt_out = |word: &&str| !INITIALS.contains(word) && word.chars().nth(1).is_some();
    if words.iter().any(spelt_out) { without(words, &INITIALS) } else { words }
}

const CALLING_IT_A_MUSCLE: [&str; 5] = ["muscle", "muscles", "musculus", "musculi", "the"];
const INITIALS: [&str; 2] = ["m", "mm"];

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn folds_to_plain_words() {
        let check = |typed: &str, expected: &str| assert_eq!(fold(typed), expected, "{typed:?}");
        check("  Teres\tMINOR. ", "teres minor");
        check("M. deltoideus", "deltoideus");
        check("Mm. rhomboidei", "rhomboidei");
        check("Musculus Levator Scapulæ", "levator scapulae");
        check("the trapezius muscle", "trapezius");
        check("coraco-brachialis", "coraco brachialis");
        check("déltoïd", "deltoid");
        check("ｔｅｒｅｓ ﬂexor", "teres flexor");
        check("S.C.M.", "s c m");
        check("tra\u{ad}pe\u{200b}zius\u{202e}", "trapezius");
        check("the muscle", "the muscle");
        check("M.", "m");
        check("?! \u{0}", "");
    }

    #[test]
    fn a_mountain_of_marks_is_no_letter() {
        assert_eq!(fold(&format!("d{}eltoid", "\u{301}".repeat(10_000))), "deltoid");
    }

    proptest! {
        #[test]
        fn the_short_way_is_the_same(typed in "[ -~\\t]{0,30}") {
            prop_assert_eq!(plain(&typed), decomposed(&typed));
        }

        #[test]
        fn folding_twice_is_folding_once(typed in any::<String>()) {
            let once = fold(&typed);
            prop_assert_eq!(fold(&once), once);
        }

        #[test]
        fn words_of_initials_and_articles_fold_once(typed in "((the|muscle|m|mm|s|c|teres) ?){0,5}") {
            let once = fold(&typed);
            prop_assert_eq!(fold(&once), once);
        }
    }
}
