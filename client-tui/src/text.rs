//! Text made safe and made to fit: cleaning, width in columns, cutting and wrapping.

use ratatui::buffer::CellWidth;
use ratatui::style::Style;
use ratatui::text::Span;
use serde_json::Value;

/// `text` without anything that could move the cursor, turn the direction of writing or pile up
/// on one column: controls become spaces, format characters go, and at most four marks may stand
/// on one letter.
pub(crate) fn clean(text: &str) -> String {
    let mut marks = 0;
    let mut kept = String::with_capacity(text.len());
    for c in text.chars() {
        let c = if c.is_control() || matches!(c, '\u{2028}' | '\u{2029}') { ' ' } else { c };
        if turns_or_hides(c) {
            continue;
        }
        marks = if c.encode_utf8(&mut [0; 4]).cell_width() == 0 { marks + 1 } else { 0 };
        if marks <= MOST_MARKS {
            kept.push(c);
        }
    }
    kept
}

/// Cleans every string inside a JSON value, so that nothing read from a socket can do harm on the
/// screen, wherever it is drawn.
pub(crate) fn clean_json(value: &mut Value) {
    match value {
        Value::String(text) => *text = clean(text),
        Value::Array(items) => items.iter_mut().for_each(clean_json),
        Value::Object(fields) => fields.values_mut().for_each(clean_json),
        Value::Null | Value::Bool(_) | Value::Number(_) => {}
    }
}

/// A fragment as a sentence: with a capital letter and a full stop.
pub(crate) fn sentence(fragment: &str) -> String {
    let mut rest = fragment.chars();
    let first: String = rest.next().into_iter().flat_map(char::to_uppercase).collect();
    let stop = if fragment.is_empty() || fragment.ends_with(['.', '?', '!']) { "" } else { "." };
    format!("{first}{}{stop}", rest.as_str())
}

/// The signs of a text as a reader counts them (grapheme clusters).
pub(crate) fn signs(text: &str) -> Vec<String> {
    let span = Span::raw(text);
    span.styled_graphemes(Style::new()).map(|sign| sign.symbol.to_owned()).collect()
}

/// Columns that a text takes.
pub(crate) fn width(text: &str) -> usize {
    signs(text).iter().map(|sign| usize::from(sign.as_str().cell_width())).sum()
}

/// `text` cut to `room` columns; an ellipsis says that something is missing.
pub(crate) fn fit(text: &str, room: usize) -> String {
    if width(text) <= room {
        return text.to_owned();
    }
    let mut kept = take(text, room.saturating_sub(1));
    if room > 0 {
        kept.push('…');
    }
    kept
}

/// `text` cut or filled with spaces to exactly `room` columns.
pub(crate) fn pad(text: &str, room: usize) -> String {
    let mut kept = fit(text, room);
    kept.extend(std::iter::repeat_n(' ', room.saturating_sub(width(&kept))));
    kept
}

/// `text` filled on the left, for columns of numbers.
pub(crate) fn pad_left(text: &str, room: usize) -> String {
    let kept = fit(text, room);
    format!("{}{kept}", " ".repeat(room.saturating_sub(width(&kept))))
}

/// `text` broken at spaces into lines of at most `room` columns; a longer word is broken inside.
/// There is always at least one line.
pub(crate) fn wrap(text: &str, room: usize) -> Vec<String> {
    let room = room.max(2);
    let mut lines = vec![String::new()];
    let mut used = 0;
    for word in text.split_whitespace() {
        let gap = usize::from(used > 0);
        if used + gap + width(word) > room && used > 0 {
            lines.push(String::new());
            used = 0;
        }
        let mut line = lines.pop().unwrap_or_default();
        if used > 0 {
            line.push(' ');
        }
        for piece in pieces(word, room) {
            if !line.is_empty() && width(&format!("{line}{piece}")) > room {
                lines.push(std::mem::take(&mut line));
            }
            line.push_str(&piece);
        }
        used = width(&line);
        lines.push(line);
    }
    lines
}

/// The signs of a word. One that is wider than `room` (many letters may be one sign in some
/// scripts) comes apart into its characters, none of which takes more than two columns.
fn pieces(word: &str, room: usize) -> Vec<String> {
    let apart = |sign: String| {
        if width(&sign) > room { sign.chars().map(String::from).collect() } else { vec![sign] }
    };
    signs(word).into_iter().flat_map(apart).collect()
}

/// As many whole signs from the front as `room` columns hold.
pub(crate) fn take(text: &str, room: usize) -> String {
    let mut used = 0;
    let mut kept = String::new();
    for sign in signs(text) {
        used += usize::from(sign.as_str().cell_width());
        if used > room {
            break;
        }
        kept.push_str(&sign);
    }
    kept
}

/// Characters that change the direction of what follows, or that cannot be seen. The two joiners
/// (U+200C, U+200D) stay: some scripts need them to spell a name.
fn turns_or_hides(c: char) -> bool {
    matches!(c,
        '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}' | '\u{200e}' | '\u{200f}'
        | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}'
        | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e007f}')
}

const MOST_MARKS: usize = 4;

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn harmful_characters_are_taken_out() {
        let check = |text: &str, want: &str| assert_eq!(clean(text), want, "{text:?}");
        check("teres minor", "teres minor");
        check("a\u{1b}[2Jb\r\nc", "a [2Jb  c");
        check("\u{202e}roniM\u{2069} \u{200f}x", "roniM x");
        check("Zoë Ærø 山田", "Zoë Ærø 山田");
        check(&format!("a{}b", "\u{301}".repeat(10_000)), "a\u{301}\u{301}\u{301}\u{301}b");
    }

    #[test]
    fn every_string_of_a_value_is_cleaned() {
        let mut value = serde_json::json!({"a": ["\u{7}x", {"b": "\u{202e}y"}], "n": 1.5});
        clean_json(&mut value);
        assert_eq!(value, serde_json::json!({"a": [" x", {"b": "y"}], "n": 1.5}));
    }

    #[test]
    fn fragments_become_sentences() {
        let check = |fragment: &str, want: &str| assert_eq!(sentence(fragment), want);
        check("that key is not known", "That key is not known.");
        check("Done.", "Done.");
        check("émile is away", "Émile is away.");
        check("", "");
    }

    #[test]
    fn texts_are_cut_by_columns() {
        let check = |text: &str, room: usize, want: &str| assert_eq!(fit(text, room), want);
        check("deltoid", 7, "deltoid");
        check("deltoid", 4, "del…");
        check("deltoid", 0, "");
        check("山田太郎", 5, "山田…");
        check("山田太郎", 4, "山…");
        assert_eq!(pad("山田太郎", 4), "山… ");
        assert_eq!(pad_left("7", 3), "  7");
    }

    #[test]
    fn texts_are_wrapped_by_columns() {
        let check = |text: &str, room: usize, want: &[&str]| assert_eq!(wrap(text, room), want);
        check("", 9, &[""]);
        check("abducts the arm", 9, &["abducts", "the arm"]);
        check("abducts the arm", 99, &["abducts the arm"]);
        check("sternocleidomastoid", 8, &["sternocl", "eidomast", "oid"]);
        check("a sternocleidomastoid b", 9, &["a", "sternocle", "idomastoi", "d b"]);
        check("山田太郎", 4, &["山田", "太郎"]);
        // One sign of three columns, in two columns of room.
        let conjunct = "\u{915}\u{94d}\u{937}\u{94d}\u{92e}";
        assert_eq!(wrap(conjunct, 2).concat(), conjunct);
    }

    proptest! {
        #[test]
        fn cleaning_twice_changes_nothing_more(text: String) {
            let once = clean(&text);
            prop_assert_eq!(clean(&once), once);
        }

        #[test]
        fn padding_gives_just_the_columns_asked_for(text: String, room in 0usize..80) {
            prop_assert_eq!(width(&pad(&clean(&text), room)), room);
        }

        #[test]
        fn wrapped_lines_fit_and_lose_nothing(text: String, room in 2usize..60) {
            let text = clean(&text);
            let lines = wrap(&text, room);
            prop_assert!(lines.iter().all(|line| width(line) <= room), "{lines:?}");
            let bare = |text: &str| text.split_whitespace().collect::<String>();
            prop_assert_eq!(bare(&lines.concat()), bare(&text));
        }
    }
}
