//! What the instructor's console knows.

use myonym_wire::{
    CloseWhy, ClueShown, Coming, EndWhy, FromInstructor, JoinLink, Millis, Moment, Reveal,
    ReviewInfo, RoundNo, SpreadRow, StandingRow, StudentId, WeakSpots,
};

use super::ConsoleOptions;
use super::roll::Roll;
use crate::app::Cmd;
use crate::net::Call;
use crate::parts::picture::Telling;
use crate::round::{OpenRound, Stopwatch};
use crate::theme::Theme;
use crate::uplink::{Notice, Uplink};

/// Everything that the console is drawn from.
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
    /// The part of the desk that the keys go to.
    pub(crate) pane: Pane,
    /// Whether help is shown.
    pub(crate) help: bool,
    /// How pictures are told.
    pub(crate) telling: Telling,
    /// What was asked back before doing it.
    pub(crate) confirm: Option<Confirm>,
    /// A short notice.
    pub(crate) notice: Option<Notice>,
    /// How far the page is moved down, in lines.
    pub(crate) scroll: u16,
    /// How far it can be moved.
    pub(crate) scroll_end: u16,
    /// The server.
    pub(crate) server: JoinLink,
    /// Makes a code to be scanned.
    pub(crate) qr: Option<fn(&str) -> Vec<String>>,
    /// What students should know besides to get in.
    pub(crate) join_note: Option<String>,
    /// What becomes of the review when the console is left.
    pub(crate) quit_note: String,
    /// Where the full report is to be had.
    pub(crate) report_note: String,
}

/// What is on the screen.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Screen {
    /// Waiting for the server's welcome.
    Connecting,
    /// A review in hand.
    Desk(Box<Desk>),
    /// Nothing more comes; a sentence says why.
    Stopped(String),
}

/// A part of the desk.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Pane {
    /// How students join.
    Join,
    /// Who is here.
    Roll,
    /// The round at hand.
    Round,
    /// What the class confuses.
    Weak,
}

/// A deed that is asked back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Confirm {
    /// Leaving the console.
    Quit,
    /// Ending the review.
    End,
    /// Leaving the round out.
    Skip,
    /// Taking a student out.
    Remove {
        /// Who.
        student: StudentId,
        /// The name, for the question.
        name: String,
    },
}

/// A review in hand.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Desk {
    /// The review.
    pub(crate) review: ReviewInfo,
    /// The links that students may use, best first; at least one.
    pub(crate) links: Vec<JoinLink>,
    /// The first link as a code to be scanned; empty if there is no way to make one.
    pub(crate) scan: Vec<String>,
    /// Where the review stands.
    pub(crate) stage: Stage,
    /// When it came to stand there.
    pub(crate) since: Millis,
    /// Whether a step was sent that the server has not answered yet.
    pub(crate) pending: bool,
    /// Who has a seat.
    pub(crate) roll: Roll,
    /// What was confused so far.
    pub(crate) weak_spots: WeakSpots,
    /// What is planned of the round at hand, or between rounds of the next.
    pub(crate) coming: Option<Coming>,
    /// The first places.
    pub(crate) standings: Vec<StandingRow>,
    /// How many have a place, once known.
    pub(crate) standings_of: Option<u32>,
    /// Whether the server cannot save answers just now.
    pub(crate) cannot_save: bool,
    /// Whether the screen shows what the class must not see: names answered before the reveal, the
    /// roll beside other panes, times of one's own. Not at first: consoles stand on projectors.
    pub(crate) is_private: bool,
}

/// Where the review stands.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Stage {
    /// Students take their seats.
    Gathering,
    /// A round takes answers.
    Open {
        /// The round.
        open: OpenRound,
        /// How it stands.
        tally: Tally,
    },
    /// A round takes no more answers.
    Closed {
        /// The round.
        round: RoundNo,
        /// Number of rounds.
        of: u16,
        /// The two muscles that were offered, or none.
        offered: Vec<String>,
        /// Why.
        why: CloseWhy,
        /// Clues shown.
        clues: Vec<ClueShown>,
        /// How it stands.
        tally: Tally,
    },
    /// The answer is shown.
    Revealed {
        /// The round.
        round: RoundNo,
        /// Number of rounds.
        of: u16,
        /// The reveal.
        reveal: Box<Reveal>,
    },
    /// A round does not count.
    Skipped {
        /// The round.
        round: RoundNo,
        /// Number of rounds.
        of: u16,
    },
    /// The review is over.
    Ended(EndWhy),
}

/// How a round stands.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Tally {
    /// Answers recorded.
    pub(crate) answered: u32,
    /// Students who were here at some time of the round; 0 until the server tells.
    pub(crate) here: u32,
    /// What was answered, commonest first.
    pub(crate) spread: Vec<SpreadRow>,
    /// Times that a student was asked again.
    pub(crate) asked_again: u32,
}

impl Tally {
    /// How many answers there can be, where `present` students are connected now.
    pub(crate) fn of(&self, present: u32) -> u32 {
        self.here.max(present)
    }
}

impl Model {
    /// The first model and what to do first.
    pub(crate) fn start(options: ConsoleOptions, theme: Theme) -> (Self, Vec<Cmd<FromInstructor>>) {
        let ConsoleOptions {
            server,
            trust: _,
            task,
            qr,
            join_note,
            greeting,
            quit_note,
            report_note,
        } = options;
        let call = Call { link: server.clone(), hello: task.into() };
        let model = Self {
            now: Millis(0),
            theme,
            uplink: Uplink::Trying(None),
            screen: Screen::Connecting,
            pane: Pane::Join,
            help: false,
            telling: Telling::default(),
            confirm: None,
            notice: greeting.map(|greeting| Notice::new(greeting, Millis(0))),
            scroll: 0,
            scroll_end: 0,
            server,
            qr,
            join_note,
            quit_note,
            report_note,
        };
        (model, vec![Cmd::Connect(call)])
    }

    /// The review in hand, if there is one.
    pub(crate) fn desk(&self) -> Option<&Desk> {
        if let Screen::Desk(desk) = &self.screen { Some(desk) } else { None }
    }

    /// The review in hand, to be changed.
    pub(crate) fn desk_mut(&mut self) -> Option<&mut Desk> {
        if let Screen::Desk(desk) = &mut self.screen { Some(desk) } else { None }
    }

    /// Shows a short notice.
    pub(crate) fn say(&mut self, text: impl Into<String>) {
        self.notice = Some(Notice::new(text, self.now));
    }
}

impl Desk {
    /// The round at hand, of how many.
    pub(crate) fn round(&self) -> Option<(RoundNo, u16)> {
        match &self.stage {
            Stage::Open { open, .. } => Some((open.round, open.of)),
            Stage::Closed { round, of, .. }
            | Stage::Revealed { round, of, .. }
            | Stage::Skipped { round, of } => Some((*round, *of)),
            Stage::Gathering | Stage::Ended(_) => None,
        }
    }
}

impl Desk {
    /// What is planned of the round at hand, or else of the next.
    pub(crate) fn planned(&self) -> Option<&Coming> {
        let round = match &self.stage {
            Stage::Open { open, .. } => open.round.0,
            Stage::Closed { round, .. } => round.0,
            Stage::Revealed { round, .. } | Stage::Skipped { round, .. } => round.0 + 1,
            Stage::Gathering => 1,
            Stage::Ended(_) => return None,
        };
        self.coming.as_ref().filter(|coming| coming.round.0 == round)
    }
}

impl Stage {
    /// The stage of a moment, and the standings that it tells.
    pub(crate) fn of(moment: Moment, answered: u32) -> (Self, Vec<StandingRow>) {
        let tally = Tally { answered, ..Tally::default() };
        let stage = match moment {
            Moment::Gathering {} => Self::Gathering,
            Moment::Open {
                round,
                of,
                task,
                example,
                offered,
                limit_ms,
                elapsed_ms,
                paused,
                clues,
                clue_count,
                given: _,
            } => {
                let watch = Stopwatch::resumed(elapsed_ms, paused);
                let open = OpenRound {
                    round,
                    of,
                    task,
                    example,
                    offered,
                    limit_ms,
                    clue_count,
                    clues,
                    watch,
                };
                Self::Open { open, tally }
            }
            Moment::Closed { round, of, offered, why, clues, .. } => {
                Self::Closed { round, of, offered, why, clues, tally }
            }
            Moment::Revealed { round, of, reveal, standings, .. } => {
                return (Self::Revealed { round, of, reveal }, standings);
            }
            Moment::Skipped { round, of } => Self::Skipped { round, of },
            Moment::Ended { why, standings, .. } => return (Self::Ended(why), standings),
        };
        (stage, Vec::new())
    }
}
