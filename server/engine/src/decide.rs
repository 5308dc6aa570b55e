//! What happens: every judgement of a review.

use myonym_content::{Course, MuscleKey};
use myonym_wire::{CloseWhy, EndWhy, Millis, Pace, RoundNo, StudentId, TimeAllowance};

use crate::contrast::contrast;
use crate::event::Event;
use crate::input::{Command, Decision, Input, Refusal};
use crate::planned::Planned;
use crate::review::{Phase, Review, Seat};
use crate::round::{OpenRound, RoundRecord};
use crate::task::{self, Asked};
use crate::timing::GRACE_MS;
use crate::waiting::Limit;

/// How often the base limit an untimed student may hold up a review that runs by itself.
const UNTIMED_MOST: u64 = 10;

impl Review {
    /// What happens on `input` at `now` (time since the review opened). Changes nothing.
    ///
    /// After its events are applied, decide on [`Input::Tick`] until that yields none: closing,
    /// revealing and the next clue are found there. The events of one decision do not depend on
    /// each other's effect.
    pub fn decide(&self, course: &Course, now: Millis, input: Input) -> Decision {
        if let Phase::Ended(_) = self.phase {
            return self.decide_ended(&input);
        }
        match input {
            Input::Seat { student, listed } => Event::Seated { student, listed }.into(),
            Input::Back(student) => match self.seats.get(&student) {
                None => Refusal::NoSuchStudent.into(),
                Some(seat) if seat.present => Decision::default(),
                Some(_) => Event::Back { student }.into(),
            },
            Input::Away { student, left } => self.decide_away(student, left),
            Input::Answer(answering) => self.decide_answer(course, now, answering),
            Input::Member { student, wish } => self.decide_member(course, now, student, wish),
            Input::Command(command) => self.decide_command(course, now, command),
            Input::Replan { planned, why } => self.decide_replan(course, planned, why),
            Input::Tick => self.decide_tick(course, now),
            Input::Restarted => Event::Restarted {}.into(),
            Input::Abandon => self.decide_end(course, EndWhy::Abandoned),
        }
    }

    /// When time alone will next make something happen, in time since the review opened.
    pub fn next_wakeup(&self) -> Option<Millis> {
        let phase = if self.paused.is_some() { None } else { self.phase_wakeup() };
        phase.into_iter().chain(self.group_wakeup()).min()
    }

    /// When the phase will change or a clue is due, while the time runs.
    fn phase_wakeup(&self) -> Option<Millis> {
        let automatic = match self.settings.pace {
            Pace::Automatic { reveal_ms } | Pace::Group { reveal_ms } => {
                Some(Millis(u64::from(reveal_ms)))
            }
            Pace::Instructor => None,
        };
        match &self.phase {
            Phase::Open(round) => {
                let clue = round.next_clue().map(|(_, due)| round.when(due));
                let end = self.latest_end(round).map(|end| round.when(end));
                clue.into_iter().chain(end).min()
            }
            Phase::Closed(record) => automatic.map(|_| record.at),
            Phase::Revealed if self.present() > 0 => Some(self.rounds.last()?.at.plus(automatic?)),
            Phase::Skipped { at, .. } if self.present() > 0 => automatic.map(|_| *at),
            Phase::Revealed | Phase::Skipped { .. } | Phase::Gathering | Phase::Ended(_) => None,
        }
    }

    /// Time run at which the round ends by itself; `None` if only the instructor can close it.
    fn latest_end(&self, round: &OpenRound) -> Option<Millis> {
        let base = u64::from(round.limit_ms);
        let longest = match (round.waiting.longest(), self.settings.pace) {
            (None, _) => base,
            (Some(Limit::Of(limit)), _) => base.max(u64::from(limit)),
            (Some(Limit::Unlimited), Pace::Automatic { .. } | Pace::Group { .. }) => {
                base * UNTIMED_MOST
            }
            (Some(Limit::Unlimited), Pace::Instructor) => return None,
        };
        Some(Millis(longest + GRACE_MS))
    }

    fn decide_ended(&self, input: &Input) -> Decision {
        match input {
            Input::Away { student, left } => self.decide_away(*student, *left),
            Input::Back(student) if self.seats.contains_key(student) => {
                Event::Back { student: *student }.into()
            }
            Input::Tick | Input::Restarted | Input::Abandon => Decision::default(),
            Input::Seat { .. }
            | Input::Back(_)
            | Input::Answer(_)
            | Input::Member { .. }
            | Input::Command(_)
            | Input::Replan { .. } => Refusal::ReviewOver.into(),
        }
    }

    fn decide_away(&self, student: StudentId, left: bool) -> Decision {
        match self.seats.get(&student) {
            Some(seat) if seat.present || (left && !seat.left) => {
                Event::Away { student, left }.into()
            }
            _ => Decision::default(),
        }
    }

    pub(crate) fn decide_command(
        &self,
        course: &Course,
        now: Millis,
        command: Command,
    ) -> Decision {
        match (command, &self.phase) {
            (Command::Start, Phase::Gathering)
            | (Command::Next, Phase::Revealed | Phase::Skipped { .. }) => self.next_round(course),
            (Command::CloseRound, Phase::Open(round)) => {
                self.close(round, CloseWhy::Instructor).into()
            }
            (Command::Reveal, Phase::Closed(record)) => reveal_event(course, record).into(),
            (Command::Skip, Phase::Open(round)) => {
                Event::RoundSkipped { round: round.round }.into()
            }
            (Command::Skip, Phase::Closed(record)) => {
                Event::RoundSkipped { round: record.round }.into()
            }
            (Command::Pause, Phase::Open(_) | Phase::Revealed | Phase::Skipped { .. })
                if self.paused.is_none() =>
            {
                Event::Paused {}.into()
            }
            (Command::Resume, _) if self.paused.is_some() => {
                // A resume stamped before its pause would turn the time back.
                if self.paused.is_some_and(|since| now < since) {
                    return Refusal::NotNow.into();
                }
                Event::Resumed {}.into()
            }
            (Command::Remove(student), _) => match self.seats.get(&student) {
                Some(_) => Event::Removed { student }.into(),
                None => Refusal::NoSuchStudent.into(),
            },
            (Command::Rename(student), _) => match self.seats.get(&student) {
                Some(_) => Event::Renamed { student }.into(),
                None => Refusal::NoSuchStudent.into(),
            },
            (Command::Stretch(student, time), _) => self.decide_stretch(student, time),
            (Command::End, _) => self.decide_end(course, EndWhy::Instructor),
            _ => Refusal::NotNow.into(),
        }
    }

    pub(crate) fn decide_stretch(&self, student: StudentId, time: TimeAllowance) -> Decision {
        match self.seats.get(&student) {
            None => Refusal::NoSuchStudent.into(),
            Some(_) if !time.is_valid() => Refusal::BadTime.into(),
            Some(Seat { time: old, .. }) if *old == time => Decision::default(),
            Some(_) => Event::Stretched { student, time }.into(),
        }
    }

    /// Ends the review. An open round does not count; a closed one is revealed first.
    pub(crate) fn decide_end(&self, course: &Course, why: EndWhy) -> Decision {
        let mut events = match &self.phase {
            Phase::Open(round) => vec![Event::RoundSkipped { round: round.round }],
            Phase::Closed(record) => vec![reveal_event(course, record)],
            Phase::Gathering | Phase::Revealed | Phase::Skipped { .. } | Phase::Ended(_) => {
                Vec::new()
            }
        };
        events.push(Event::Ended { why });
        events.into()
    }

    /// Another round in the place of the next, between rounds of an adaptive review. A task that
    /// cannot be asked gives way to the name, save that of pictures only the host knows.
    fn decide_replan(&self, course: &Course, planned: Planned, why: String) -> Decision {
        let Some((round, _)) = self.coming().filter(|_| self.settings.adaptive) else {
            return Refusal::NotNow.into();
        };
        let known = |other: &MuscleKey| course.muscle(other).is_some();
        if course.item(&planned.muscle).is_none() || !planned.beside.iter().all(known) {
            return Refusal::NoSuchMuscle.into();
        }
        let planned = task::possible(course, planned, |_| true);
        Event::Replanned { round, planned, why }.into()
    }

    fn decide_tick(&self, course: &Course, now: Millis) -> Decision {
        if let Some(decision) = self.tick_group(course, now) {
            return decision;
        }
        if self.paused.is_some() {
            return Decision::default();
        }
        match &self.phase {
            Phase::Open(round) => self.tick_open(round, now),
            Phase::Closed(record) if self.settings.pace != Pace::Instructor => {
                reveal_event(course, record).into()
            }
            Phase::Revealed | Phase::Skipped { .. }
                if self.phase_wakeup().is_some_and(|due| now >= due) =>
            {
                self.next_round(course)
            }
            Phase::Gathering
            | Phase::Closed(_)
            | Phase::Revealed
            | Phase::Skipped { .. }
            | Phase::Ended(_) => Decision::default(),
        }
    }

    fn tick_open(&self, round: &OpenRound, now: Millis) -> Decision {
        let elapsed = self.elapsed(now);
        let all_answered = !round.answers.is_empty() && round.waiting.is_empty();
        if all_answered {
            return self.close(round, CloseWhy::AllAnswered).into();
        }
        if self.latest_end(round).is_some_and(|end| elapsed >= end) {
            return self.close(round, CloseWhy::TimeUp).into();
        }
        match round.next_clue() {
            Some((number, due)) if elapsed >= due => {
                Event::ClueShown { round: round.round, number }.into()
            }
            _ => Decision::default(),
        }
    }

    fn next_round(&self, course: &Course) -> Decision {
        let round = RoundNo(self.opened + 1);
        let next = self.plan.get(usize::from(self.opened));
        // The plan was drawn from this list; a muscle that has left it since is passed by with the
        // review's end rather than with a wrong round.
        let Some((planned, item)) =
            next.and_then(|planned| Some((planned, course.item(&planned.muscle)?)))
        else {
            return Event::Ended { why: EndWhy::Finished }.into();
        };
        let draw = self.seed.rotate_left(32) ^ u64::from(round.0);
        let Asked { task, clues, offered } = task::asked(course, item, planned, draw);
        Event::RoundOpened {
            round,
            task,
            muscle: item.muscle.clone(),
            name: item.name.clone(),
            latin: item.latin.clone(),
            offered,
            clues,
            limit_ms: self.settings.limit_ms,
        }
        .into()
    }

    fn close(&self, round: &OpenRound, why: CloseWhy) -> Event {
        let silent = |student: &StudentId| {
            let here = self.seats.get(student).is_some_and(|seat| seat.present);
            here && !round.answers.contains_key(student)
        };
        let silent = round.here.keys().copied().filter(silent).collect();
        Event::RoundClosed { round: round.round, why, silent }
    }
}

fn reveal_event(course: &Course, record: &RoundRecord) -> Event {
    Event::Revealed { round: record.round, contrast: contrast(course, record) }
}
