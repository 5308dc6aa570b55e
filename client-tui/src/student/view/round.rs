//! A round that takes answers.

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Position, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

use myonym_wire::{Millis, Task};

use crate::parts;
use crate::plate;
use crate::round::picture_of;
use crate::student::model::{Ask, Model, Own, RoundScreen, Sitting};
use crate::text;
use crate::theme::Theme;
use crate::words;

/// Draws the round: clues above, time and answer below.
pub(super) fn draw(
    frame: &mut Frame<'_>,
    area: Rect,
    model: &Model,
    sitting: &Sitting,
    screen: &RoundScreen,
) -> u16 {
    let width = usize::from(area.width);
    let mut ask = ask_lines(screen, width);
    ask.extend(choice_lines(screen, width));
    let mut status = parts::paragraph(&status(model, sitting, screen), width);
    if screen.own == Own::Nothing {
        status.extend(example_lines(screen, width));
    }
    let rows = Layout::vertical([
        Constraint::Min(3),
        Constraint::Length(1),
        Constraint::Length(1),
        Constraint::Length(plate::rows_of(&ask)),
        Constraint::Length(1),
        Constraint::Length(plate::rows_of(&status)),
    ]);
    let [clues, rule, time, asked, line, said] = rows.areas(area);
    frame.render_widget(plate::rule_line(rule.width), rule);
    frame.render_widget(time_line(model.now, screen, width), time);
    frame.render_widget(Paragraph::new(ask), asked);
    input(frame, line, screen);
    frame.render_widget(Paragraph::new(status), said);
    draw_clues(frame, clues, model, screen)
}

/// The clues, from the newest back if they are longer than their place.
fn draw_clues(frame: &mut Frame<'_>, area: Rect, model: &Model, screen: &RoundScreen) -> u16 {
    let open = &screen.open;
    let width = usize::from(area.width);
    let lines = if let Some(picture) = picture_of(&open.clues) {
        let room = (width, usize::from(area.height));
        parts::picture::asked(model.theme, picture, room, model.telling)
    } else {
        let clues = parts::clues(model.theme, &open.clues, true, open.to_come(), width);
        [vec![Line::default()], clues].concat()
    };
    let hidden = plate::rows_of(&lines).saturating_sub(area.height);
    let down = hidden - model.scroll.min(hidden);
    frame.render_widget(Paragraph::new(lines).scroll((down, 0)), area);
    if down > 0 {
        let more = Line::styled("(more above: Page Up)", Theme::RULE);
        frame.render_widget(more, Rect { height: 1, ..area });
    }
    hidden
}

/// The student's time, standing still from the answer on. A time of one's own looks like any
/// other: neighbours can see the screen.
fn time_line(now: Millis, screen: &RoundScreen, width: usize) -> Line<'static> {
    let remark = if screen.open.watch.is_halted() { "PAUSED" } else { "" };
    let Some(limit) = screen.limit_ms else {
        return Line::styled(format!("No time limit  {remark}"), Theme::STRONG);
    };
    let elapsed = match screen.own.attempt() {
        Some(attempt) => Millis(attempt.elapsed_ms),
        None => screen.open.watch.elapsed(now),
    };
    parts::time_line(width, elapsed, limit, remark)
}

fn input(frame: &mut Frame<'_>, area: Rect, screen: &RoundScreen) {
    let prompt = prompt(screen.open.task);
    let room = usize::from(area.width).saturating_sub(prompt.len() + 1);
    let (shown, cursor) = match &screen.own {
        Own::Nothing => {
            let (shown, cursor) = screen.line.shown(room);
            (shown, Some(cursor))
        }
        Own::Sent(attempt) | Own::Taken { attempt, .. } => (text::fit(&attempt.text, room), None),
        Own::Barred(_) => (String::new(), None),
    };
    if let Some(cursor) = cursor {
        let across = u16::try_from(prompt.len() + cursor).unwrap_or(u16::MAX);
        frame.set_cursor_position(Position::new(area.x.saturating_add(across), area.y));
    }
    let prompt = if cursor.is_some() { prompt } else { GIVEN };
    let line = Line::from(vec![Span::styled(prompt, Theme::STRONG), Span::raw(shown)]);
    frame.render_widget(line, area);
}

fn ask_lines(screen: &RoundScreen, width: usize) -> Vec<Line<'static>> {
    let Some(Ask { typed, several, names }) = &screen.ask else { return Vec::new() };
    let thing = words::thing(screen.open.task);
    let said = match (several, names.is_empty()) {
        _ if screen.is_of_two() => format!("\"{typed}\" is not clearly one of the two."),
        (true, true) => format!("\"{typed}\" fits several {thing}s. Type the full name."),
        (true, false) => format!("Which one? \"{typed}\" fits several {thing}s:"),
        (false, false) => format!("No {thing} is called \"{typed}\". Do you mean one of these?"),
        (false, true) => format!("No {thing} is called \"{typed}\"."),
    };
    parts::paragraph(&said, width)
}

/// The names to choose from, numbered where one of two is asked for.
fn choice_lines(screen: &RoundScreen, width: usize) -> Vec<Line<'static>> {
    let (names, picked) = (screen.choices(), screen.picked);
    let mut lines = Vec::new();
    // The window moves so that the chosen name is inside it.
    let first = picked.map_or(0, |at| (at + 1).saturating_sub(MOST_NAMES));
    for (at, name) in names.iter().enumerate().skip(first).take(MOST_NAMES) {
        let is_picked = picked == Some(at);
        let mark = if is_picked { "›" } else { " " };
        let style = if is_picked { Theme::PICKED } else { ratatui::style::Style::new() };
        let number = if screen.is_of_two() { format!("{}  ", at + 1) } else { String::new() };
        let said = text::fit(name, width.saturating_sub(4 + number.len()));
        lines.push(Line::from(vec![
            Span::raw(format!(" {mark} ")),
            Span::styled(number, Theme::STRONG),
            Span::styled(said, style),
        ]));
    }
    let hidden = names.len().saturating_sub(first + MOST_NAMES);
    if hidden > 0 {
        lines.push(Line::styled(format!("   and {hidden} more below"), Theme::RULE));
    }
    lines
}

/// Where the answer stands, in words.
fn status(model: &Model, sitting: &Sitting, screen: &RoundScreen) -> String {
    let up = model.uplink.is_up();
    let elapsed = screen.open.watch.elapsed(model.now);
    let is_up = screen.limit_ms.is_some_and(|limit| elapsed.0 >= limit.into());
    let said = match &screen.own {
        Own::Nothing if screen.open.watch.is_halted() => words::paused(sitting.review.pace),
        Own::Nothing if is_up => "Your time is up. The round closes soon.",
        Own::Nothing if screen.is_of_two() => words::wanted(screen.open.task),
        Own::Nothing if !screen.choices().is_empty() => "Choose with Up and Down, or type another.",
        Own::Nothing if screen.ask.is_some() => {
            "Correct it and press Enter. Control-U empties the line."
        }
        Own::Nothing => words::wanted(screen.open.task),
        Own::Sent(_) if up => "Sent. Waiting for the server.",
        Own::Sent(_) => "Kept here. It is sent as soon as the connection is back.",
        Own::Taken { recorded: false, .. } => "Received: your time has stopped. Being recorded.",
        Own::Taken { recorded: true, .. } => "Recorded: your answer counts. Wait for the others.",
        Own::Barred(why) => why,
    };
    said.to_owned()
}

/// What a movement looks like, where one is wanted and none has been tried.
fn example_lines(screen: &RoundScreen, width: usize) -> Vec<Line<'static>> {
    let example = screen.open.example.as_ref().filter(|_| screen.ask.is_none());
    let said = example.map(|example| format!("In this form, but not this one: {example}"));
    said.map(|said| parts::paragraph(&said, width)).unwrap_or_default()
}

fn prompt(task: Task) -> &'static str {
    match task {
        Task::Name | Task::Picture => "Name it > ",
        Task::Movement => "Movement > ",
        Task::Contrast => "Which one > ",
    }
}

const GIVEN: &str = "Answer    ";
const MOST_NAMES: usize = 5;
