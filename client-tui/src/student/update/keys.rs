//! What keys do on a student's screens.

use myonym_wire::FromStudent;

use super::{Cmd, back_to_form, enter, group, outcome};
use crate::keys::{Edit, Key, Move};
use crate::student::form::Field;
use crate::student::model::{Attempt, Model, Own, RoundScreen, Screen, Sitting, Stage};

/// Takes in one key.
pub(super) fn key(model: &mut Model, key: Key) -> Vec<Cmd> {
    let stops = matches!(key, Key::Esc | Key::Interrupt);
    if model.help {
        model.help = false;
        return Vec::new();
    }
    if model.leaving {
        model.leaving = false;
        return if stops { leave(model) } else { Vec::new() };
    }
    if key == Key::Help || (key == Key::Char('?') && !is_typing(model)) {
        model.help = true;
        return Vec::new();
    }
    if key == Key::Picture {
        model.telling = model.telling.turned();
        model.scroll = 0;
        return Vec::new();
    }
    if let Key::Ballot(ballot) = key {
        return group::vote(model, ballot);
    }
    match &mut model.screen {
        Screen::Connecting { .. } if key == Key::Esc => {
            let cmds = back_to_form(model);
            model.form.focus = Field::Address;
            cmds
        }
        Screen::Stopped(_) if key == Key::Enter => back_to_form(model),
        Screen::Stopped(_) if stops => leave(model),
        Screen::Seated(sitting) if is_over(sitting) && (stops || key == Key::Enter) => leave(model),
        Screen::Form | Screen::Connecting { .. } | Screen::Seated(_) | Screen::Stopped(_)
            if stops =>
        {
            model.leaving = true;
            Vec::new()
        }
        Screen::Form => form_key(model, key),
        Screen::Seated(sitting) if matches!(sitting.stage, Stage::Round(_)) => {
            round_key(model, key)
        }
        Screen::Seated(sitting) if sitting.stage == Stage::Waiting && key == Key::Char(' ') => {
            group::start(model)
        }
        Screen::Seated(sitting) if sitting.stage == Stage::Waiting && key == Key::Char('t') => {
            group::next_time(model)
        }
        Screen::Seated(_) => page_key(model, key),
        Screen::Connecting { .. } | Screen::Stopped(_) => Vec::new(),
    }
}

/// Takes in pasted text, where there is a line for it.
pub(super) fn paste(model: &mut Model, pasted: &str) {
    match &mut model.screen {
        Screen::Form => model.form.paste(pasted),
        Screen::Seated(sitting) => {
            if let Stage::Round(screen) = &mut sitting.stage
                && screen.own == Own::Nothing
            {
                screen.line.insert(pasted.lines().next().unwrap_or(""));
            }
        }
        Screen::Connecting { .. } | Screen::Stopped(_) => {}
    }
}

fn leave(model: &Model) -> Vec<Cmd> {
    let outcome = outcome(model);
    match &model.screen {
        Screen::Seated(_) => vec![Cmd::Say(FromStudent::Leave {}), Cmd::Quit(outcome)],
        Screen::Form | Screen::Connecting { .. } | Screen::Stopped(_) => vec![Cmd::Quit(outcome)],
    }
}

/// Whether something stands in the line that the keys go to, so that `?` is a character.
fn is_typing(model: &mut Model) -> bool {
    match &mut model.screen {
        Screen::Form => model.form.line().is_some_and(|line| !line.is_empty()),
        Screen::Seated(sitting) => match &sitting.stage {
            Stage::Round(screen) => screen.own == Own::Nothing && !screen.line.is_empty(),
            Stage::Waiting
            | Stage::Closed(_)
            | Stage::Reveal(_)
            | Stage::Skipped { .. }
            | Stage::Ended { .. } => false,
        },
        Screen::Connecting { .. } | Screen::Stopped(_) => false,
    }
}

fn is_over(sitting: &Sitting) -> bool {
    matches!(sitting.stage, Stage::Ended { .. })
}

fn form_key(model: &mut Model, key: Key) -> Vec<Cmd> {
    let form = &mut model.form;
    match key {
        Key::Next | Key::Move(Move::Down) => form.go(true),
        Key::Before | Key::Move(Move::Up) => form.go(false),
        Key::Enter => return form_enter(model),
        Key::Char(' ') | Key::Edit(Edit::Left | Edit::Right) if form.focus == Field::Listed => {
            form.listed = !form.listed;
        }
        Key::Char(' ') if form.focus == Field::Join => return form_enter(model),
        Key::Char(c) => {
            form.fault = None;
            form.line().into_iter().for_each(|line| line.insert(c.encode_utf8(&mut [0; 4])));
        }
        Key::Edit(edit) => {
            form.fault = None;
            form.line().into_iter().for_each(|line| line.edit(edit));
        }
        Key::Move(Move::PageUp | Move::PageDown)
        | Key::Esc
        | Key::Interrupt
        | Key::Help
        | Key::Picture
        | Key::Ballot(_) => {}
    }
    Vec::new()
}

/// Goes on: to what is missing, from the name to the choice that belongs to it, else to the review.
fn form_enter(model: &mut Model) -> Vec<Cmd> {
    let form = &mut model.form;
    form.take_link_apart();
    match form.entry() {
        Ok(_) if form.focus == Field::Name => form.focus = Field::Listed,
        Ok(entry) => return enter(model, entry),
        Err((field, _)) if field > form.focus => form.focus = field,
        Err(fault) => form.blame(fault),
    }
    Vec::new()
}

fn round_key(model: &mut Model, key: Key) -> Vec<Cmd> {
    let Some(screen) = round_of(model) else { return Vec::new() };
    let open = screen.own == Own::Nothing;
    match key {
        Key::Move(step) => {
            if !(open && pick(screen, step)) {
                // Clues are looked at from their end, so up is away from it.
                scroll(model, flip(step));
            }
        }
        Key::Enter if open => return answer(model),
        // No name has a digit in it.
        Key::Char(c) if open && numbered(screen, c).is_some() => {
            screen.picked = numbered(screen, c);
            return answer(model);
        }
        Key::Char(c) if open => {
            screen.picked = None;
            screen.line.insert(c.encode_utf8(&mut [0; 4]));
        }
        Key::Edit(edit) if open => {
            screen.picked = None;
            screen.line.edit(edit);
        }
        Key::Enter
        | Key::Char(_)
        | Key::Edit(_)
        | Key::Next
        | Key::Before
        | Key::Esc
        | Key::Interrupt
        | Key::Help
        | Key::Picture
        | Key::Ballot(_) => {}
    }
    Vec::new()
}

fn page_key(model: &mut Model, key: Key) -> Vec<Cmd> {
    match key {
        Key::Move(step) => scroll(model, step),
        Key::Next | Key::Before => {
            model.scroll = 0;
            if let Some(sitting) = model.sitting_mut() {
                sitting.show_standings = !sitting.show_standings;
            }
        }
        Key::Char(_)
        | Key::Enter
        | Key::Edit(_)
        | Key::Esc
        | Key::Interrupt
        | Key::Help
        | Key::Picture
        | Key::Ballot(_) => {}
    }
    Vec::new()
}

/// Sends the chosen or typed name, or keeps it until the connection is back.
fn answer(model: &mut Model) -> Vec<Cmd> {
    let (now, is_up) = (model.now, model.uplink.is_up());
    let Some(screen) = round_of(model) else { return Vec::new() };
    let picked = screen.picked.and_then(|at| screen.choices().get(at)).cloned();
    let text = picked.unwrap_or_else(|| screen.line.text().trim().to_owned());
    let (halted, elapsed_ms) = (screen.open.watch.is_halted(), screen.open.watch.elapsed(now).0);
    if text.is_empty() {
        return Vec::new();
    }
    if halted {
        model.say("Paused: press Enter again when it goes on.");
        return Vec::new();
    }
    let attempt = Attempt { id: model.ids.next(), text, elapsed_ms };
    let Some(screen) = round_of(model) else { return Vec::new() };
    let message = said(screen, &attempt);
    screen.own = Own::Sent(attempt);
    screen.ask = None;
    screen.picked = None;
    if is_up { vec![Cmd::Say(message)] } else { Vec::new() }
}

/// An attempt as a message.
pub(super) fn said(screen: &RoundScreen, attempt: &Attempt) -> FromStudent {
    FromStudent::Answer {
        round: screen.open.round,
        attempt: attempt.id,
        text: attempt.text.clone(),
        elapsed_ms: attempt.elapsed_ms,
    }
}

fn round_of(model: &mut Model) -> Option<&mut RoundScreen> {
    match &mut model.sitting_mut()?.stage {
        Stage::Round(screen) => Some(screen),
        Stage::Waiting
        | Stage::Closed(_)
        | Stage::Reveal(_)
        | Stage::Skipped { .. }
        | Stage::Ended { .. } => None,
    }
}

/// Moves through the names to choose from; `false` if there are none.
fn pick(screen: &mut RoundScreen, step: Move) -> bool {
    let Some(last) = screen.choices().len().checked_sub(1) else { return false };
    screen.picked = match step {
        Move::Down => Some(screen.picked.map_or(0, |at| (at + 1).min(last))),
        // Above the first name is the line again.
        Move::Up => screen.picked.and_then(|at| at.checked_sub(1)),
        Move::PageUp | Move::PageDown => return false,
    };
    true
}

/// Which of the two offered a digit stands for.
fn numbered(screen: &RoundScreen, c: char) -> Option<usize> {
    let at = usize::try_from(c.to_digit(10)?).ok()?.checked_sub(1)?;
    (at < screen.open.offered.len()).then_some(at)
}

fn flip(step: Move) -> Move {
    match step {
        Move::Up => Move::Down,
        Move::Down => Move::Up,
        Move::PageUp => Move::PageDown,
        Move::PageDown => Move::PageUp,
    }
}

fn scroll(model: &mut Model, step: Move) {
    let to = match step {
        Move::Up => model.scroll.saturating_sub(1),
        Move::Down => model.scroll.saturating_add(1),
        Move::PageUp => model.scroll.saturating_sub(PAGE),
        Move::PageDown => model.scroll.saturating_add(PAGE),
    };
    model.scroll = to.min(model.scroll_end);
}

/// Fewer lines than the smallest window shows, so that nothing is passed over.
const PAGE: u16 = 10;
