//! A line of input: text on both sides of a cursor that moves by whole signs.

use crate::keys::Edit;
use crate::text;

/// One line that a person types, held to a number of characters.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct LineInput {
    before: String,
    after: String,
    most_chars: usize,
}

impl LineInput {
    /// A line with `text` in it and the cursor at its end.
    pub(crate) fn new(text: &str, most_chars: usize) -> Self {
        let mut line = Self { before: String::new(), after: String::new(), most_chars };
        line.insert(text);
        line
    }

    /// What stands in the line.
    pub(crate) fn text(&self) -> String {
        format!("{}{}", self.before, self.after)
    }

    /// Whether nothing stands in the line.
    pub(crate) fn is_empty(&self) -> bool {
        self.before.is_empty() && self.after.is_empty()
    }

    /// Puts text in at the cursor: cleaned, and no more than the line holds.
    pub(crate) fn insert(&mut self, text: &str) {
        let room = self.most_chars.saturating_sub(self.text().chars().count());
        self.before.extend(text::clean(text).chars().take(room));
    }

    /// Puts other text in place of what stands there, with the cursor at its end.
    pub(crate) fn set(&mut self, text: &str) {
        *self = Self::new(text, self.most_chars);
    }

    /// Does one editing step.
    pub(crate) fn edit(&mut self, edit: Edit) {
        match edit {
            Edit::Backspace => drop(pop_last(&mut self.before)),
            Edit::Delete => drop(pop_first(&mut self.after)),
            Edit::Left => self.after.insert_str(0, &pop_last(&mut self.before)),
            Edit::Right => self.before.push_str(&pop_first(&mut self.after)),
            Edit::Home => {
                self.after = self.text();
                self.before.clear();
            }
            Edit::End => {
                self.before = self.text();
                self.after.clear();
            }
            Edit::Clear => {
                self.before.clear();
                self.after.clear();
            }
            Edit::DropWord => {
                let kept = self.before.trim_end();
                let end = kept.rfind(char::is_whitespace).map_or(0, |at| at + 1);
                self.before.truncate(end);
            }
        }
    }

    /// The part to show in `room` columns, and the column of the cursor in it.
    pub(crate) fn shown(&self, room: usize) -> (String, usize) {
        let room = room.max(1);
        let mut head = self.before.clone();
        // One column is kept for the cursor behind the last sign.
        while text::width(&head) >= room {
            pop_first(&mut head);
        }
        let cursor = text::width(&head);
        let tail = text::take(&self.after, room - cursor);
        (format!("{head}{tail}"), cursor)
    }
}

fn pop_last(text: &mut String) -> String {
    let at = text::signs(text).last().map_or(0, String::len);
    text.split_off(text.len() - at)
}

fn pop_first(text: &mut String) -> String {
    let at = text::signs(text).first().map_or(0, String::len);
    text.drain(..at).collect()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn edits_move_by_whole_signs() {
        let check = |start: &str, edits: &[Edit], want: (&str, &str)| {
            let mut line = LineInput::new(start, 20);
            for edit in edits {
                line.edit(*edit);
            }
            assert_eq!((line.before.as_str(), line.after.as_str()), want, "{start} {edits:?}");
        };
        check("abc", &[Edit::Left], ("ab", "c"));
        check("abc", &[Edit::Left, Edit::Backspace], ("a", "c"));
        check("abc", &[Edit::Home, Edit::Delete], ("", "bc"));
        check("abc", &[Edit::Home, Edit::Right, Edit::End], ("abc", ""));
        check("ae\u{301}", &[Edit::Backspace], ("a", ""));
        check("a山", &[Edit::Left], ("a", "山"));
        check("teres major", &[Edit::DropWord], ("teres ", ""));
        check("teres ", &[Edit::DropWord], ("", ""));
        check("abc", &[Edit::Left, Edit::Clear], ("", ""));
        check("", &[Edit::Backspace, Edit::Delete, Edit::Left, Edit::Right], ("", ""));
    }

    #[test]
    fn a_line_holds_no_more_than_it_may_and_no_controls() {
        let mut line = LineInput::new("", 5);
        line.insert("ab\u{1b}c\u{202e}defg");
        assert_eq!(line.text(), "ab cd");
    }

    #[test]
    fn a_narrow_view_follows_the_cursor() {
        let mut line = LineInput::new("supraspinatus", 20);
        assert_eq!(line.shown(6), ("natus".to_owned(), 5));
        line.edit(Edit::Home);
        assert_eq!(line.shown(6), ("supras".to_owned(), 0));
    }

    proptest! {
        #[test]
        fn the_view_always_fits(text: String, left in 0usize..8, room in 2usize..30) {
            let mut line = LineInput::new(&text, 80);
            (0..left).for_each(|_| line.edit(Edit::Left));
            let (shown, cursor) = line.shown(room);
            prop_assert!(text::width(&shown) <= room);
            prop_assert!(cursor < room);
        }
    }
}
