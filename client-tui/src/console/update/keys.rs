//! What keys do at the desk.

use myonym_wire::limits::NAME_CHARS;
use myonym_wire::{FromInstructor, Millis, TimeAllowance};

use super::Cmd;
use crate::Outcome;
use crate::console::model::{Confirm, Desk, Model, Pane, Renaming, Screen, Stage};
use crate::console::next;
use crate::keys::{Key, Move};
use crate::line::LineInput;
use crate::words;

/// Takes in one key.
pub(super) fn key(model: &mut Model, key: Key) -> Vec<Cmd> {
    if model.help {
        model.help = false;
        return Vec::new();
    }
    if model.renaming.is_some() {
        return renaming(model, key);
    }
    if let Some(asked) = model.confirm.take() {
        let same = trigger(&asked).contains(&key);
        return if same || key == Key::Char('y') { done(model, &asked) } else { Vec::new() };
    }
    match key {
        Key::Help | Key::Char('?') => model.help = true,
        Key::Picture => {
            model.telling = model.telling.turned();
            model.scroll = 0;
        }
        Key::Char('q') | Key::Esc | Key::Interrupt => return quit(model),
        Key::Next => turn(model, 1),
        Key::Before => turn(model, PANES.len() - 1),
        Key::Move(step) => moved(model, step),
        Key::Char(c) => return deed(model, c.to_ascii_lowercase()),
        Key::Enter | Key::Edit(_) | Key::Ballot(_) => {}
    }
    Vec::new()
}

/// Leaving is asked back, unless there is nothing to leave.
fn quit(model: &mut Model) -> Vec<Cmd> {
    match &model.screen {
        Screen::Desk(desk) if matches!(desk.stage, Stage::Ended(_)) => {
            vec![Cmd::Quit(Outcome::Ended)]
        }
        Screen::Stopped(why) => vec![Cmd::Quit(Outcome::Refused(why.clone()))],
        Screen::Connecting | Screen::Desk(_) => {
            model.confirm = Some(Confirm::Quit);
            Vec::new()
        }
    }
}

fn deed(model: &mut Model, c: char) -> Vec<Cmd> {
    let Screen::Desk(desk) = &mut model.screen else { return Vec::new() };
    match c {
        'j' => {
            model.pane = if model.pane == Pane::Join { Pane::Round } else { Pane::Join };
            model.scroll = 0;
            return Vec::new();
        }
        'v' => {
            desk.is_private = !desk.is_private;
            let said = if desk.is_private { SHOWN } else { HIDDEN };
            model.say(said);
            return Vec::new();
        }
        ' ' | 'p' | 'k' | 'e' | 'r' | 't' | 'n' => {}
        _ => return Vec::new(),
    }
    if !model.uplink.is_up() {
        model.say("There is no connection; that can be done once it is back.");
        return Vec::new();
    }
    match c {
        ' ' => step(model),
        'p' => pause(desk),
        'k' if desk.round().is_some() && takes_or_waits(desk) => ask(model, Confirm::Skip),
        'e' if !matches!(desk.stage, Stage::Ended(_)) => ask(model, Confirm::End),
        'r' | 't' | 'n' => about_student(model, c),
        _ => Vec::new(),
    }
}

/// Space: the next step, unless one is on its way or the last one is too fresh to have been read.
fn step(model: &mut Model) -> Vec<Cmd> {
    let now = model.now;
    let Some(desk) = model.desk_mut() else { return Vec::new() };
    if desk.pending || now < desk.since.plus(FRESH) {
        return Vec::new();
    }
    let Some(step) = next::next(desk).step else { return Vec::new() };
    desk.pending = true;
    vec![Cmd::Say(step)]
}

fn pause(desk: &Desk) -> Vec<Cmd> {
    match &desk.stage {
        Stage::Open { open, .. } if open.watch.is_halted() => {
            vec![Cmd::Say(FromInstructor::Resume {})]
        }
        Stage::Open { .. } => vec![Cmd::Say(FromInstructor::Pause {})],
        Stage::Gathering
        | Stage::Closed { .. }
        | Stage::Revealed { .. }
        | Stage::Skipped { .. }
        | Stage::Ended(_) => Vec::new(),
    }
}

/// Whether the round can still be skipped: once its answer is shown, it counts.
fn takes_or_waits(desk: &Desk) -> bool {
    matches!(desk.stage, Stage::Open { .. } | Stage::Closed { .. })
}

/// Removing, another name, or the next allowance of time, for the student chosen on the roll.
fn about_student(model: &mut Model, deed: char) -> Vec<Cmd> {
    let picked = model.desk().and_then(|desk| desk.roll.picked()).cloned();
    let Some(row) = picked.filter(|_| model.pane == Pane::Roll) else {
        model.pane = Pane::Roll;
        model.scroll = 0;
        model.say("Choose a student on the roll with Up and Down, then press the key again.");
        return Vec::new();
    };
    match deed {
        'r' => return ask(model, Confirm::Remove { student: row.student, name: row.name }),
        'n' => {
            let line = LineInput::new("", NAME_CHARS);
            model.renaming = Some(Renaming { student: row.student, was: row.name, line });
            return Vec::new();
        }
        _ => {}
    }
    let time = longer(row.time);
    model.say(format!("{}: {} from the next round on.", row.name, words::allowance(time)));
    let student = row.student;
    if let Some(desk) = model.desk_mut() {
        // Shown at once, so that pressing on goes on from here; the server's word comes after.
        desk.roll.set(myonym_wire::RollRow { time, ..row });
    }
    vec![Cmd::Say(FromInstructor::Stretch { student, time })]
}

/// Takes in a key while a name is being typed: Enter sends it, Escape leaves the name as it is.
fn renaming(model: &mut Model, key: Key) -> Vec<Cmd> {
    let Some(Renaming { student, line, .. }) = &mut model.renaming else { return Vec::new() };
    match key {
        Key::Char(c) => line.insert(c.encode_utf8(&mut [0; 4])),
        Key::Edit(edit) => line.edit(edit),
        Key::Esc | Key::Interrupt => model.renaming = None,
        Key::Enter if line.text().trim().is_empty() => model.renaming = None,
        Key::Enter if !model.uplink.is_up() => {
            model
                .say("There is no connection; the name is sent once it is back: press Enter then.");
        }
        Key::Enter => {
            let rename = FromInstructor::Rename { student: *student, name: line.text() };
            model.renaming = None;
            return vec![Cmd::Say(rename)];
        }
        Key::Help | Key::Picture | Key::Ballot(_) | Key::Next | Key::Before | Key::Move(_) => {}
    }
    Vec::new()
}

/// Takes in pasted text, where there is a line for it.
pub(super) fn paste(model: &mut Model, pasted: &str) {
    if let Some(Renaming { line, .. }) = &mut model.renaming {
        line.insert(pasted.lines().next().unwrap_or_default());
    }
}

/// The next allowance in the order in which the key goes through them.
fn longer(time: TimeAllowance) -> TimeAllowance {
    let percent = match time {
        TimeAllowance::Standard => 100,
        TimeAllowance::Stretched { percent } => percent,
        TimeAllowance::Untimed => return TimeAllowance::Standard,
    };
    let next = STRETCHES.into_iter().find(|stretch| *stretch > percent);
    next.map_or(TimeAllowance::Untimed, |percent| TimeAllowance::Stretched { percent })
}

fn ask(model: &mut Model, asked: Confirm) -> Vec<Cmd> {
    model.confirm = Some(asked);
    Vec::new()
}

/// The keys that ask a question answer it too.
fn trigger(asked: &Confirm) -> &'static [Key] {
    match asked {
        Confirm::Quit => &[Key::Char('q'), Key::Esc, Key::Interrupt],
        Confirm::End => &[Key::Char('e')],
        Confirm::Skip => &[Key::Char('k')],
        Confirm::Remove { .. } => &[Key::Char('r')],
    }
}

fn done(model: &mut Model, asked: &Confirm) -> Vec<Cmd> {
    let message = match asked {
        Confirm::Quit => return vec![Cmd::Quit(Outcome::Left)],
        Confirm::End => FromInstructor::End {},
        Confirm::Skip => FromInstructor::Skip {},
        Confirm::Remove { student, .. } => FromInstructor::Remove { student: *student },
    };
    if model.uplink.is_up() {
        return vec![Cmd::Say(message)];
    }
    model.say("There is no connection; that was not done.");
    Vec::new()
}

fn turn(model: &mut Model, by: usize) {
    let at = PANES.iter().position(|pane| *pane == model.pane).unwrap_or(0);
    model.pane = PANES[(at + by) % PANES.len()];
    model.scroll = 0;
}

fn moved(model: &mut Model, step: Move) {
    let by: i16 = match step {
        Move::Up => -1,
        Move::Down => 1,
        Move::PageUp => -PAGE,
        Move::PageDown => PAGE,
    };
    if model.pane == Pane::Roll
        && let Some(desk) = model.desk_mut()
    {
        desk.roll.pick(by.into());
    } else {
        model.scroll = model.scroll.saturating_add_signed(by).min(model.scroll_end);
    }
}

/// The panes in the order of Tab.
pub(in crate::console) const PANES: [Pane; 4] = [Pane::Join, Pane::Roll, Pane::Round, Pane::Weak];
/// WCAG 2.2, success criterion 2.2.1, asks that a time limit can be made ten times as long.
const STRETCHES: [u16; 5] = [150, 200, 300, 500, 1000];
/// A second press within this time is a slip of the finger.
const FRESH: Millis = Millis(700);
const PAGE: i16 = 10;
const SHOWN: &str = "Shown: the names answered, what was planned, the roll and own times. Keep this \
                     from the class; v hides them.";
const HIDDEN: &str = "Hidden: the names answered, what was planned, the roll and own times.";
