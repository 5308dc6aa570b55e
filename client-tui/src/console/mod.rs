//! The instructor's console.

mod model;
mod next;
mod roll;
mod update;
mod view;

use std::sync::Arc;

use myonym_wire::{Hello, HostKey, JoinLink, JoinWord, ReviewSettings};
use ratatui::Frame;

use crate::app::{self, App, Cmd, Heard, Msg, Said, Shown, World};
use crate::clock::Clock;
use crate::seat_file::SeatFolder;
use crate::terminal::{self, Taken};
use crate::theme::Theme;
use crate::{Error, Outcome, Trust, net};
use model::Model;

/// How a console begins.
#[derive(Debug, Clone)]
pub struct ConsoleOptions {
    /// The server to connect to. Students are shown the addresses that the server names; where it
    /// names none, this one.
    pub server: JoinLink,
    /// Whom to believe there, where the connection is encrypted.
    pub trust: Trust,
    /// What to do there.
    pub task: ConsoleTask,
    /// Makes the rows of a code to be scanned from a link, with the light margin that belongs to
    /// it. A block sign stands for dark; the console draws it dark on light.
    pub qr: Option<fn(&str) -> Vec<String>>,
    /// What students should know besides to get in, where there is something.
    pub join_note: Option<String>,
    /// A sentence to be read first, where there is one.
    pub greeting: Option<String>,
    /// What becomes of the review when the console is left; asked with the question.
    pub quit_note: String,
    /// Where the full report is to be had; told when the review is over.
    pub report_note: String,
}

/// What a console does on the server.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ConsoleTask {
    /// Takes a review in hand.
    Conduct {
        /// Its join word; may be left out where the server has a single review.
        word: Option<JoinWord>,
        /// The server's key, or that of the review.
        key: HostKey,
    },
    /// Opens another review.
    Open {
        /// The server's key.
        key: HostKey,
        /// How the review is to run.
        settings: ReviewSettings,
    },
}

impl From<ConsoleTask> for Hello {
    fn from(task: ConsoleTask) -> Self {
        match task {
            ConsoleTask::Conduct { word, key } => Self::Conduct { word, key },
            ConsoleTask::Open { key, settings } => {
                Self::Open { key, settings, plan: None, own_list: None }
            }
        }
    }
}

/// Runs the console on this terminal until the instructor leaves. Leaving does not end the review.
pub async fn console(options: ConsoleOptions) -> Result<Outcome, Error> {
    let mut taken = Taken::take()?;
    let world = World {
        clock: Clock::start(),
        seats: SeatFolder::of_user(),
        guard: Arc::new(net::Guard::new(options.trust.clone())),
        jitter: net::os_jitter,
    };
    let (model, first) = Model::start(options, Theme::of_environment());
    app::run(model, first, &mut taken.terminal, &mut terminal::input(), world).await
}

impl App for Model {
    type Role = net::Instructor;

    fn update(&mut self, msg: Msg<Heard<Self>>) -> Vec<Cmd<Said<Self>>> {
        update::update(self, msg)
    }

    fn view(&self, frame: &mut Frame<'_>) -> Shown {
        view::view(self, frame)
    }
}

#[cfg(test)]
mod tests;
