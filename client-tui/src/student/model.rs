//! What a student's terminal knows.

use std::collections::BTreeSet;

use myonym_wire::{
    AttemptId, CloseWhy, ClueShown, EndWhy, Millis, Motion, OwnResult, Pace, PersonToken, Reveal,
    ReviewInfo, ReviewSettings, RoundNo, StandingRow, Summary, Task, TimeAllowance, VoteRow,
    limits,
};
use uuid::Uuid;

use super::PlayOptions;
use super::form::{Entry, Field, Form};
use crate::app::Cmd;
use crate::line::LineInput;
use crate::parts::picture::Telling;
use crate::round::OpenRound;
use crate::seat_file::SeatPlace;
use crate::theme::Theme;
use crate::uplink::{Notice, Uplink};

/// Everything that a student's screens are drawn from.
#[derive(Debug, Clone)]
pub(crate) struct Model {
    /// The time, from the last tick.
    pub(crate) now: Millis,
    /// The look.
    pub(crate) theme: Theme,
    /// How the connection stands.
    pub(crate) uplink: Uplink,
    /// What is on the screen.
    pub(crate) screen: Screen,
    /// The form; kept while connected, to come back to it.
    pub(crate) form: Form,
    /// A short notice.
    pub(crate) notice: Option<Notice>,
    /// Whether help is shown.
    pub(crate) help: bool,
    /// How pictures are told.
    pub(crate) telling: Telling,
    /// Whether the student was asked if they want to leave.
    pub(crate) leaving: bool,
    /// How far the page is moved, in lines: down from its top, or up from its end in a round.
    pub(crate) scroll: u16,
    /// How far the page can be moved.
    pub(crate) scroll_end: u16,
    /// Whether a kept seat is passed over, the first time.
    pub(crate) new_seat: bool,
    /// Where ids of attempts come from.
    pub(crate) ids: AttemptIds,
    /// The secret by which this device is known again, if it is to be told.
    pub(crate) person: Option<PersonToken>,
    /// The student's group.
    pub(crate) group: Option<String>,
    /// How the study group is to run that is opened from here, if one is.
    pub(crate) gather: Option<ReviewSettings>,
}

/// What is on the screen.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Screen {
    /// The form.
    Form,
    /// Waiting for the server's welcome.
    Connecting {
        /// As whom.
        entry: Entry,
        /// Whether a kept seat is being returned to.
        by_seat: bool,
    },
    /// The student has a seat.
    Seated(Box<Sitting>),
    /// Nothing more comes.
    Stopped(Stop),
}

/// A student with a seat.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Sitting {
    /// Where the seat is.
    pub(crate) place: SeatPlace,
    /// The name after cleaning.
    pub(crate) name: String,
    /// Whether a seat kept on disk was returned to.
    pub(crate) came_back: bool,
    /// The review.
    pub(crate) review: ReviewInfo,
    /// The student's own time.
    pub(crate) time: TimeAllowance,
    /// Points so far.
    pub(crate) total: f64,
    /// Students connected now.
    pub(crate) present: u32,
    /// Whether the server cannot save answers just now.
    pub(crate) cannot_save: bool,
    /// The first places.
    pub(crate) standings: Vec<StandingRow>,
    /// How many have a place, once known.
    pub(crate) standings_of: Option<u32>,
    /// Whether the standings are shown in place of the answer, in a narrow window.
    pub(crate) show_standings: bool,
    /// What a study group votes on.
    pub(crate) voting: Voting,
    /// Where the review stands.
    pub(crate) stage: Stage,
}

/// What a study group votes on.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Voting {
    /// How the votes stand.
    pub(crate) rows: Vec<VoteRow>,
    /// What the student is for; forgotten as the server voids it.
    pub(crate) own: BTreeSet<Motion>,
    /// Whether the time stands still, in a round or between two.
    pub(crate) halted: bool,
}

impl Voting {
    /// The time stands still, or runs again.
    pub(crate) fn halt(&mut self, halted: bool) {
        self.halted = halted;
        self.own.remove(if halted { &Motion::Pause } else { &Motion::Resume });
    }

    /// A round opens, closes, is skipped or is revealed.
    pub(crate) fn turn(&mut self) {
        self.halted = false;
        self.own.retain(|motion| *motion == Motion::End);
    }
}

/// Where the review stands.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Stage {
    /// Not begun.
    Waiting,
    /// A round takes answers.
    Round(Box<RoundScreen>),
    /// A round takes no more answers.
    Closed(ClosedScreen),
    /// The answer is shown.
    Reveal(Box<RevealScreen>),
    /// A round does not count.
    Skipped {
        /// The round.
        round: RoundNo,
        /// Number of rounds.
        of: u16,
    },
    /// The review is over.
    Ended {
        /// Why.
        why: EndWhy,
        /// The student's own review, once told.
        summary: Option<Summary>,
    },
}

/// A round that takes answers.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct RoundScreen {
    /// The round.
    pub(crate) open: OpenRound,
    /// The student's own limit.
    pub(crate) limit_ms: Option<u32>,
    /// What is typed.
    pub(crate) line: LineInput,
    /// The student's own answer.
    pub(crate) own: Own,
    /// What the server asked back.
    pub(crate) ask: Option<Ask>,
    /// Which of the choices is marked.
    pub(crate) picked: Option<usize>,
}

/// The student's own answer in a round.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Own {
    /// None yet.
    Nothing,
    /// Sent, or to be sent once the connection is back; the server has not said anything to it.
    Sent(Attempt),
    /// The server has it.
    Taken {
        /// The attempt.
        attempt: Attempt,
        /// Whether it is on disk.
        recorded: bool,
    },
    /// No answer can be given any more; the sentence says why.
    Barred(String),
}

/// One try at answering.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Attempt {
    /// Its id, the same however often it is sent.
    pub(crate) id: AttemptId,
    /// What was typed.
    pub(crate) text: String,
    /// Milliseconds from the first clue to the answer, less pauses.
    pub(crate) elapsed_ms: u64,
}

/// What the server asked back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Ask {
    /// What was typed.
    pub(crate) typed: String,
    /// Whether the name fits several muscles; otherwise it fits none.
    pub(crate) several: bool,
    /// Names to choose from.
    pub(crate) names: Vec<String>,
}

/// A round that takes no more answers.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ClosedScreen {
    /// The round.
    pub(crate) round: RoundNo,
    /// Number of rounds.
    pub(crate) of: u16,
    /// What it asked for.
    pub(crate) task: Task,
    /// The two muscles that were offered, or none.
    pub(crate) offered: Vec<String>,
    /// Why.
    pub(crate) why: CloseWhy,
    /// Clues shown.
    pub(crate) clues: Vec<ClueShown>,
    /// The student's own answer.
    pub(crate) own: Own,
    /// Answers recorded, and students with a seat.
    pub(crate) counts: Option<(u32, u32)>,
}

/// The answer and how the class did.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct RevealScreen {
    /// The round.
    pub(crate) round: RoundNo,
    /// Number of rounds.
    pub(crate) of: u16,
    /// The reveal.
    pub(crate) reveal: Reveal,
    /// The student's own result, once told.
    pub(crate) result: Option<OwnResult>,
}

/// Why nothing more comes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Stop {
    /// The instructor took the student out.
    Removed,
    /// The seat was taken from another terminal.
    SeatTaken,
    /// Something else, in a sentence, and what to do about it.
    Refused {
        /// What happened.
        what: String,
        /// What to do.
        todo: String,
    },
}

/// Ids of attempts: a random number, counted up.
#[derive(Debug, Clone)]
pub(crate) struct AttemptIds(u128);

impl AttemptIds {
    /// The next id.
    pub(crate) fn next(&mut self) -> AttemptId {
        self.0 = self.0.wrapping_add(1);
        AttemptId(Uuid::from_u128(self.0))
    }
}

impl Model {
    /// The first model and what to do first. `random` is 128 bits of entropy, from which the ids
    /// of attempts are counted; `person` is the secret of this device.
    pub(crate) fn start(
        options: PlayOptions,
        theme: Theme,
        random: u128,
        person: Option<PersonToken>,
    ) -> (Self, Vec<Cmd<myonym_wire::FromStudent>>) {
        let PlayOptions { link, trust: _, word, name, listed, group, no_person, new_seat, gather } =
            options;
        let mut form = Form { listed, gathers: gather.is_some(), ..Form::new() };
        if let Some(link) = link {
            form.fill(&link);
        }
        if let Some(word) = word {
            form.word.set(word.as_str());
        }
        if let Some(name) = name {
            form.name.set(&name);
        }
        if form.address.is_empty() {
            form.focus = Field::Address;
        } else {
            form.focus_on_first_gap();
        }
        let mut model = Self {
            now: Millis(0),
            theme,
            uplink: Uplink::Down,
            screen: Screen::Form,
            form,
            notice: None,
            help: false,
            telling: Telling::default(),
            leaving: false,
            scroll: 0,
            scroll_end: 0,
            new_seat,
            ids: AttemptIds(random),
            person: person.filter(|_| !no_person),
            group,
            gather,
        };
        let first = match model.form.entry_by_seat() {
            Some(entry) => super::update::enter(&mut model, entry),
            None => Vec::new(),
        };
        (model, first)
    }

    /// The seat, if there is one.
    pub(crate) fn sitting(&self) -> Option<&Sitting> {
        if let Screen::Seated(sitting) = &self.screen { Some(sitting) } else { None }
    }

    /// The seat, to be changed.
    pub(crate) fn sitting_mut(&mut self) -> Option<&mut Sitting> {
        if let Screen::Seated(sitting) = &mut self.screen { Some(sitting) } else { None }
    }

    /// Shows a short notice.
    pub(crate) fn say(&mut self, text: impl Into<String>) {
        self.notice = Some(Notice::new(text, self.now));
    }
}

impl Sitting {
    /// Whether it is a study group.
    pub(crate) fn is_group(&self) -> bool {
        matches!(self.review.pace, Pace::Group { .. })
    }

    /// Whether the time stands still.
    pub(crate) fn is_halted(&self) -> bool {
        match &self.stage {
            Stage::Round(screen) => screen.open.watch.is_halted(),
            Stage::Waiting
            | Stage::Closed(_)
            | Stage::Reveal(_)
            | Stage::Skipped { .. }
            | Stage::Ended { .. } => self.voting.halted,
        }
    }

    /// The round at hand, of how many.
    pub(crate) fn round(&self) -> Option<(RoundNo, u16)> {
        match &self.stage {
            Stage::Round(screen) => Some((screen.open.round, screen.open.of)),
            Stage::Closed(screen) => Some((screen.round, screen.of)),
            Stage::Reveal(screen) => Some((screen.round, screen.of)),
            Stage::Skipped { round, of } => Some((*round, *of)),
            Stage::Waiting | Stage::Ended { .. } => None,
        }
    }

    /// The student's place, of how many, as the screen at hand knows it.
    pub(crate) fn own_place(&self) -> Option<(u32, u32)> {
        match &self.stage {
            Stage::Reveal(screen) => screen.result.as_ref().map(|own| (own.place, own.of)),
            Stage::Ended { summary, .. } => summary.as_ref().map(|own| (own.place, own.of)),
            Stage::Waiting | Stage::Round(_) | Stage::Closed(_) | Stage::Skipped { .. } => None,
        }
    }

    /// The student's own answer in a given round, to be changed.
    pub(crate) fn own_in(&mut self, round: RoundNo) -> Option<&mut Own> {
        match &mut self.stage {
            Stage::Round(screen) if screen.open.round == round => Some(&mut screen.own),
            Stage::Closed(screen) if screen.round == round => Some(&mut screen.own),
            Stage::Round(_)
            | Stage::Closed(_)
            | Stage::Waiting
            | Stage::Reveal(_)
            | Stage::Skipped { .. }
            | Stage::Ended { .. } => None,
        }
    }
}

impl Own {
    /// The attempt that was sent, if there is one.
    pub(crate) fn attempt(&self) -> Option<&Attempt> {
        match self {
            Self::Sent(attempt) | Self::Taken { attempt, .. } => Some(attempt),
            Self::Nothing | Self::Barred(_) => None,
        }
    }
}

impl RoundScreen {
    /// A round just opened.
    pub(crate) fn new(open: OpenRound, time: TimeAllowance) -> Self {
        let limit_ms = time.limit_ms(open.limit_ms);
        let line = LineInput::new("", limits::ANSWER_CHARS);
        Self { open, limit_ms, line, own: Own::Nothing, ask: None, picked: None }
    }

    /// What there is to choose from: the two that are offered, or what the server has asked about.
    pub(crate) fn choices(&self) -> &[String] {
        match &self.ask {
            _ if self.is_of_two() => &self.open.offered,
            Some(ask) => &ask.names,
            None => &[],
        }
    }

    /// Whether one of two is to be chosen.
    pub(crate) fn is_of_two(&self) -> bool {
        !self.open.offered.is_empty()
    }
}
