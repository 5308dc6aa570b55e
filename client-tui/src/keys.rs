//! Keys as the screens understand them, read from what the terminal reports.

use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

/// One key press.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Key {
    /// A character.
    Char(char),
    /// Enter.
    Enter,
    /// Escape.
    Esc,
    /// Control-C.
    Interrupt,
    /// F1.
    Help,
    /// Control-P: a picture as words, or as a picture again.
    Picture,
    /// Control-K, -T, -N or -X: a vote in a study group.
    Ballot(Ballot),
    /// Tab: the next field or pane.
    Next,
    /// Shift-Tab: the one before.
    Before,
    /// A key that changes a line of input.
    Edit(Edit),
    /// A key that moves through a list or a page.
    Move(Move),
}

/// What a key votes on in a study group.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Ballot {
    /// Control-K: to leave the round out.
    Skip,
    /// Control-T: to stop the time, or to let it run.
    Time,
    /// Control-N: to open the next round.
    Next,
    /// Control-X: to end the review.
    End,
}

/// A step of editing a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Edit {
    /// Takes out the sign before the cursor.
    Backspace,
    /// Takes out the sign behind the cursor.
    Delete,
    /// One sign to the left.
    Left,
    /// One sign to the right.
    Right,
    /// To the start.
    Home,
    /// To the end.
    End,
    /// Takes out everything.
    Clear,
    /// Takes out the word before the cursor.
    DropWord,
}

/// A step through a list or a page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Move {
    /// One line up.
    Up,
    /// One line down.
    Down,
    /// A page up.
    PageUp,
    /// A page down.
    PageDown,
}

/// The key of a terminal's event; `None` for one that means nothing here.
pub(crate) fn read(event: &KeyEvent) -> Option<Key> {
    if event.kind == KeyEventKind::Release {
        return None;
    }
    let control = event.modifiers.contains(KeyModifiers::CONTROL);
    let alt = event.modifiers.contains(KeyModifiers::ALT);
    if let KeyCode::Char(c) = event.code {
        // Some keyboards report a third-level character as Control and Alt together.
        return if control == alt { Some(Key::Char(c)) } else { control_key(c, control) };
    }
    plain_key(event.code, event.modifiers.contains(KeyModifiers::SHIFT))
}

fn control_key(c: char, control: bool) -> Option<Key> {
    match c.to_ascii_lowercase() {
        _ if !control => None,
        'c' => Some(Key::Interrupt),
        'a' => Some(Key::Edit(Edit::Home)),
        'e' => Some(Key::Edit(Edit::End)),
        'u' => Some(Key::Edit(Edit::Clear)),
        'w' => Some(Key::Edit(Edit::DropWord)),
        'h' => Some(Key::Edit(Edit::Backspace)),
        'p' => Some(Key::Picture),
        'k' => Some(Key::Ballot(Ballot::Skip)),
        't' => Some(Key::Ballot(Ballot::Time)),
        'n' => Some(Key::Ballot(Ballot::Next)),
        'x' => Some(Key::Ballot(Ballot::End)),
        _ => None,
    }
}

#[expect(clippy::wildcard_enum_match_arm, reason = "a key that is not named here does nothing")]
fn plain_key(code: KeyCode, shift: bool) -> Option<Key> {
    Some(match code {
        KeyCode::Enter => Key::Enter,
        KeyCode::Esc => Key::Esc,
        KeyCode::F(1) => Key::Help,
        KeyCode::Tab if shift => Key::Before,
        KeyCode::Tab => Key::Next,
        KeyCode::BackTab => Key::Before,
        KeyCode::Backspace => Key::Edit(Edit::Backspace),
        KeyCode::Delete => Key::Edit(Edit::Delete),
        KeyCode::Left => Key::Edit(Edit::Left),
        KeyCode::Right => Key::Edit(Edit::Right),
        KeyCode::Home => Key::Edit(Edit::Home),
        KeyCode::End => Key::Edit(Edit::End),
        KeyCode::Up => Key::Move(Move::Up),
        KeyCode::Down => Key::Move(Move::Down),
        KeyCode::PageUp => Key::Move(Move::PageUp),
        KeyCode::PageDown => Key::Move(Move::PageDown),
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn events_become_keys() {
        let check = |code: KeyCode, modifiers: KeyModifiers, want: Option<Key>| {
            assert_eq!(read(&KeyEvent::new(code, modifiers)), want, "{code:?} {modifiers:?}");
        };
        let none = KeyModifiers::NONE;
        check(KeyCode::Char('é'), none, Some(Key::Char('é')));
        check(KeyCode::Char('D'), KeyModifiers::SHIFT, Some(Key::Char('D')));
        check(KeyCode::Char('@'), KeyModifiers::CONTROL | KeyModifiers::ALT, Some(Key::Char('@')));
        check(KeyCode::Char('x'), KeyModifiers::ALT, None);
        check(KeyCode::Char('c'), KeyModifiers::CONTROL, Some(Key::Interrupt));
        check(KeyCode::Char('z'), KeyModifiers::CONTROL, None);
        check(KeyCode::BackTab, KeyModifiers::SHIFT, Some(Key::Before));
        check(KeyCode::F(1), none, Some(Key::Help));
        check(KeyCode::F(2), none, None);
        check(KeyCode::Char('p'), KeyModifiers::CONTROL, Some(Key::Picture));
        let ballot = Some(Key::Ballot(Ballot::Skip));
        check(KeyCode::Char('k'), KeyModifiers::CONTROL, ballot);
        check(KeyCode::Down, none, Some(Key::Move(Move::Down)));
    }

    #[test]
    fn letting_a_key_go_means_nothing() {
        let event =
            KeyEvent::new_with_kind(KeyCode::Enter, KeyModifiers::NONE, KeyEventKind::Release);
        assert_eq!(read(&event), None);
    }
}
