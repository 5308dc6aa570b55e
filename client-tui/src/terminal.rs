//! The terminal: taken over for the screens, and given back whatever happens.

use std::io::{self, IsTerminal as _, stdin, stdout};
use std::panic;
use std::thread;
use std::time::Duration;

use ratatui::DefaultTerminal;
use ratatui::crossterm::cursor::Show;
use ratatui::crossterm::event::{self, DisableBracketedPaste, EnableBracketedPaste, Event};
use ratatui::crossterm::execute;
use ratatui::crossterm::terminal::size;
use tokio::sync::mpsc;

use crate::Error;
use crate::keys::{self, Key};

/// What the terminal reports.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Input {
    /// A key was pressed.
    Key(Key),
    /// Text was pasted.
    Paste(String),
    /// The window has another size.
    Resized,
}

/// Columns of the terminal, if there is one.
pub fn terminal_width() -> Option<u16> {
    size().ok().map(|(columns, _)| columns)
}

/// The terminal while it is taken over. Dropping it gives the terminal back.
#[derive(Debug)]
pub(crate) struct Taken {
    /// What is drawn on.
    pub(crate) terminal: DefaultTerminal,
}

impl Taken {
    /// Takes the terminal over: raw keys, the second screen, pastes in one piece.
    pub(crate) fn take() -> Result<Self, Error> {
        if !stdin().is_terminal() || !stdout().is_terminal() {
            return Err(Error::NoTerminal);
        }
        // This also sets a hook that gives the terminal back before a panic is told.
        let terminal = ratatui::try_init().map_err(|error| {
            give_back();
            Error::Terminal(error)
        })?;
        let taken = Self { terminal };
        let told = panic::take_hook();
        panic::set_hook(Box::new(move |info| {
            give_back();
            told(info);
        }));
        execute!(stdout(), EnableBracketedPaste).map_err(Error::Terminal)?;
        Ok(taken)
    }
}

impl Drop for Taken {
    fn drop(&mut self) {
        give_back();
    }
}

/// Reads the terminal in a thread of its own; the thread ends when the receiver is dropped.
pub(crate) fn input() -> mpsc::Receiver<io::Result<Input>> {
    let (sender, receiver) = mpsc::channel(QUEUE);
    thread::spawn(move || {
        while !sender.is_closed() {
            match next_input() {
                Ok(None) => {}
                Ok(Some(input)) => drop(sender.blocking_send(Ok(input))),
                Err(error) => {
                    drop(sender.blocking_send(Err(error)));
                    return;
                }
            }
        }
    });
    receiver
}

fn next_input() -> io::Result<Option<Input>> {
    if !event::poll(LISTEN)? {
        return Ok(None);
    }
    Ok(match event::read()? {
        Event::Key(key) => keys::read(&key).map(Input::Key),
        Event::Paste(text) => Some(Input::Paste(text)),
        Event::Resize(..) => Some(Input::Resized),
        Event::FocusGained | Event::FocusLost | Event::Mouse(_) => None,
    })
}

fn give_back() {
    // Each step is tried whatever became of the one before; there is nobody left to tell.
    execute!(stdout(), DisableBracketedPaste, Show).ok();
    ratatui::try_restore().ok();
}

/// Key presses waiting to be read; more than a person types ahead.
const QUEUE: usize = 256;
/// How soon the thread notices that it is no longer wanted.
const LISTEN: Duration = Duration::from_millis(200);
