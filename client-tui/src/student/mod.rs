//! The student's screens.

mod form;
pub(crate) mod model;
mod update;
mod view;

use std::sync::Arc;

use myonym_wire::{JoinLink, JoinWord, ReviewSettings};
use ratatui::Frame;
use uuid::Uuid;

use crate::app::{self, App, Cmd, Heard, Msg, Said, Shown, World};
use crate::clock::Clock;
use crate::seat_file::SeatFolder;
use crate::terminal::{self, Taken};
use crate::theme::Theme;
use crate::{Error, Outcome, Trust, net, person_file};
pub use form::{checked_group, checked_name};
use model::Model;

/// How a student's screens begin. What is left out is asked for on the first screen.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PlayOptions {
    /// The server's address, with or without the join word.
    pub link: Option<JoinLink>,
    /// Whom to believe, where the connection is encrypted.
    pub trust: Trust,
    /// The join word, if the link holds none.
    pub word: Option<JoinWord>,
    /// What the student wants to be called: 1 to 24 characters.
    pub name: Option<String>,
    /// Whether the name may be shown to the class in the standings.
    pub listed: bool,
    /// The student's group, such as a bench of the lab: 1 to 24 characters.
    pub group: Option<String>,
    /// Keeps back the secret by which this computer is known again in other reviews.
    pub no_person: bool,
    /// Takes a new seat even where this computer has kept one for the same review.
    pub new_seat: bool,
    /// Opens a study group that runs so, and takes the first seat in it.
    pub gather: Option<ReviewSettings>,
}

/// Runs a student's screens on this terminal until the student leaves or the review is over.
pub async fn play(options: PlayOptions) -> Result<Outcome, Error> {
    let mut taken = Taken::take()?;
    let world = World {
        clock: Clock::start(),
        seats: SeatFolder::of_user(),
        guard: Arc::new(net::Guard::new(options.trust.clone())),
        jitter: net::os_jitter,
    };
    let person = if options.no_person { None } else { person_file::of_user() };
    let random = Uuid::new_v4().as_u128();
    let (model, first) = Model::start(options, Theme::of_environment(), random, person);
    app::run(model, first, &mut taken.terminal, &mut terminal::input(), world).await
}

impl App for Model {
    type Role = net::Student;

    fn update(&mut self, msg: Msg<Heard<Self>>) -> Vec<Cmd<Said<Self>>> {
        update::update(self, msg)
    }

    fn view(&self, frame: &mut Frame<'_>) -> Shown {
        view::view(self, frame)
    }
}

#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_of_groups;
#[cfg(test)]
mod tests_of_two;
