//! Draws the instructor's console. A screen is a function of the model.

mod join;
mod roll;
mod round;
mod weak;

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

use super::model::{Confirm, Desk, Model, Pane, Renaming, Screen, Stage};
use super::next;
use super::update::PANES;
use crate::app::Shown;
use crate::parts;
use crate::plate::{self, Plate};
use crate::round::picture_of;
use crate::text;
use crate::theme::Theme;
use crate::words;

/// Draws the model.
pub(crate) fn view(model: &Model, frame: &mut Frame<'_>) -> Shown {
    let Some(area) = plate_of(model).draw(frame) else { return Shown::default() };
    if model.help {
        plate::help(frame, area, &HELP, &HELP_MORE);
        return Shown { scroll_end: model.scroll_end };
    }
    let scroll_end = match &model.screen {
        Screen::Connecting => {
            let said = format!("Calling {} ...", model.server.address);
            told(frame, area, model, "Connecting", &said)
        }
        Screen::Stopped(why) => told(frame, area, model, "This did not work", &text::sentence(why)),
        Screen::Desk(desk) => desk_panes(frame, area, model, desk),
    };
    Shown { scroll_end }
}

/// In a wide window several panes stand side by side; in a narrow one, one behind its tab.
fn desk_panes(frame: &mut Frame<'_>, area: Rect, model: &Model, desk: &Desk) -> u16 {
    if area.width >= WIDE.0 && area.height >= WIDE.1 {
        return side_by_side(frame, area, model, desk);
    }
    if model.pane == Pane::Join {
        join::draw(frame, area, model, desk);
        return 0;
    }
    let [tabs, body] = Layout::vertical([Constraint::Length(2), Constraint::Min(1)]).areas(area);
    frame.render_widget(tab_line(model, desk), tabs);
    match model.pane {
        Pane::Join => 0,
        Pane::Roll => roll::draw(frame, body, model, desk),
        Pane::Round => page(frame, body, model, round::lines(model, desk, room(body))),
        Pane::Weak => page(frame, body, model, weak::lines(model, desk, body.width.into())),
    }
}

fn side_by_side(frame: &mut Frame<'_>, area: Rect, model: &Model, desk: &Desk) -> u16 {
    if model.pane == Pane::Join {
        join::draw(frame, area, model, desk);
        return 0;
    }
    let left = if desk.is_private || model.pane == Pane::Roll {
        let columns = [Constraint::Min(1), Constraint::Length(ROLL)];
        let [left, right] = Layout::horizontal(columns).spacing(2).areas(area);
        draw_titled(frame, right, model, Pane::Roll, |frame, area| {
            roll::draw(frame, area, model, desk);
        });
        left
    } else {
        area
    };
    if is_over(desk) && model.pane != Pane::Round {
        return page(frame, left, model, weak::lines(model, desk, left.width.into()));
    }
    let rows = Layout::vertical([Constraint::Fill(3), Constraint::Fill(2)]).spacing(1);
    let [upper, lower] = rows.areas(left);
    let mut end = 0;
    for (pane, area) in [(Pane::Round, upper), (Pane::Weak, lower)] {
        let width = area.width.into();
        let lines = match pane {
            Pane::Weak => weak::lines(model, desk, width),
            Pane::Round | Pane::Join | Pane::Roll => {
                round::lines(model, desk, (width, usize::from(area.height).saturating_sub(1)))
            }
        };
        let scroll = if model.pane == pane { model.scroll } else { 0 };
        draw_titled(frame, area, model, pane, |frame, area| {
            let furthest = plate::page(frame, area, lines, scroll);
            if model.pane == pane {
                end = furthest;
            }
        });
    }
    end
}

/// Columns and rows.
fn room(area: Rect) -> (usize, usize) {
    (area.width.into(), area.height.into())
}

fn draw_titled(
    frame: &mut Frame<'_>,
    area: Rect,
    model: &Model,
    pane: Pane,
    body: impl FnOnce(&mut Frame<'_>, Rect),
) {
    let [head, rest] = Layout::vertical([Constraint::Length(1), Constraint::Min(1)]).areas(area);
    frame.render_widget(plate::rule_line(head.width), head);
    let title = format!(" {} ", title(pane));
    let style = if model.pane == pane { Theme::PICKED } else { Theme::STRONG };
    frame.render_widget(Span::styled(title, style), Rect { x: head.x + 2, ..head });
    body(frame, rest);
}

fn page(frame: &mut Frame<'_>, area: Rect, model: &Model, lines: Vec<Line<'static>>) -> u16 {
    plate::page(frame, area, lines, model.scroll)
}

fn told(frame: &mut Frame<'_>, area: Rect, model: &Model, title: &str, said: &str) -> u16 {
    let mut lines = parts::heading(title).to_vec();
    lines.push(Line::default());
    lines.extend(parts::paragraph(said, area.width.into()));
    page(frame, area, model, lines)
}

fn tab_line(model: &Model, desk: &Desk) -> Paragraph<'static> {
    let mut spans = Vec::new();
    for pane in PANES {
        let count =
            if pane == Pane::Roll { format!(" {}", desk.roll.rows().len()) } else { String::new() };
        let picked = pane == model.pane;
        let name = title(pane);
        let said = if picked { format!("[{name}{count}]") } else { format!(" {name}{count} ") };
        let style = if picked { Theme::PICKED } else { ratatui::style::Style::new() };
        spans.push(Span::styled(said, style));
        spans.push(Span::raw("  "));
    }
    Paragraph::new(Line::from(spans))
}

fn title(pane: Pane) -> &'static str {
    match pane {
        Pane::Join => "How to join",
        Pane::Roll => "Roll",
        Pane::Round => "Round",
        Pane::Weak => "Weak spots",
    }
}

fn plate_of(model: &Model) -> Plate {
    let (left, right) = match model.desk() {
        None => ("Myonym · Instructor".to_owned(), String::new()),
        Some(desk) => {
            let left = format!("Instructor · {}", desk.review.list);
            let right = match desk.round() {
                Some((round, of)) => format!("{} · round {round} of {of}", desk.review.word),
                None => desk.review.word.to_string(),
            };
            (left, right)
        }
    };
    let next = |desk: &Desk| {
        let say = if model.uplink.is_up() || is_over(desk) {
            next::next(desk).say
        } else {
            "Wait until the connection is back.".to_owned()
        };
        ("Next", say)
    };
    let foot = model.desk().map(next).into_iter().collect();
    Plate { left, right, notices: notices(model), foot, keys: keys(model) }
}

/// Whether there is a picture in the round at hand.
fn shows_pictures(desk: &Desk) -> bool {
    match &desk.stage {
        Stage::Open { open, .. } => picture_of(&open.clues).is_some(),
        Stage::Closed { clues, .. } => picture_of(clues).is_some(),
        Stage::Revealed { reveal, .. } => !reveal.pictures.is_empty(),
        Stage::Gathering | Stage::Skipped { .. } | Stage::Ended(_) => false,
    }
}

fn is_over(desk: &Desk) -> bool {
    matches!(desk.stage, Stage::Ended(_))
}

fn notices(model: &Model) -> Vec<String> {
    let mut notices: Vec<String> =
        model.confirm.iter().map(|asked| question(model, asked)).collect();
    notices.extend(model.renaming.iter().map(new_name));
    notices.extend(model.uplink.notice(model.now));
    if model.desk().is_some_and(|desk| desk.cannot_save) {
        notices.push(CANNOT_SAVE.to_owned());
    }
    notices.extend(model.notice.iter().map(|notice| notice.text.clone()));
    notices
}

/// The line that a name is typed in. The cursor is a sign of its own, since a notice is drawn as text.
fn new_name(renaming: &Renaming) -> String {
    let Renaming { was, line, .. } = renaming;
    let (typed, at) = line.shown(LONGEST_NAME);
    let typed: String = match text::take(&typed, at) {
        before if before.len() == typed.len() => format!("{typed}_"),
        before => format!("{before}|{}", &typed[before.len()..]),
    };
    format!("New name of {was}: {typed}   Enter: give it. Escape: leave it as it is.")
}

fn question(model: &Model, asked: &Confirm) -> String {
    let (what, key) = match asked {
        Confirm::Quit => (format!("Leave the console? {}", model.quit_note), "q"),
        Confirm::End => ("End the review now for everyone?".to_owned(), "e"),
        Confirm::Skip => ("Skip this round? It will not count.".to_owned(), "k"),
        Confirm::Remove { name, .. } => (format!("Take {name} out of the review?"), "r"),
    };
    format!("{what} y or {key}: yes. Any other key: no.")
}

fn keys(model: &Model) -> Vec<(&'static str, &'static str)> {
    let Some(desk) = model.desk() else { return vec![("?", "help"), ("q", "leave")] };
    let hidden = if desk.is_private { "hide answers" } else { "answers" };
    let mut keys = match &desk.stage {
        Stage::Open { open, .. } => {
            let pause = if open.watch.is_halted() { "go on" } else { "pause" };
            vec![("p", pause), ("k", "skip"), ("v", hidden)]
        }
        Stage::Closed { .. } => vec![("k", "skip"), ("v", hidden)],
        Stage::Gathering | Stage::Revealed { .. } | Stage::Skipped { .. } | Stage::Ended(_) => {
            let comes = if desk.is_private { "hide what comes" } else { "what comes" };
            desk.planned().map(|_| ("v", comes)).into_iter().collect()
        }
    };
    if shows_pictures(desk) {
        keys.push((PICTURE, model.telling.next()));
    }
    if model.pane == Pane::Roll {
        keys.extend([("r", "remove"), ("t", "time")]);
    }
    keys.extend([("Tab", "next pane"), ("?", "help"), ("q", "leave")]);
    if !is_over(desk) {
        keys.extend([("j", "how to join"), ("e", "end")]);
    }
    if model.pane == Pane::Roll {
        // Where there is room for it; help has it too.
        keys.push(("n", "name"));
    }
    keys
}

/// How students' time is told where it is of interest: nothing if all have the class's.
fn own_times(desk: &Desk) -> String {
    match desk.roll.with_own_time() {
        0 => String::new(),
        some => format!("{} with own time", words::count(some, "student", "students")),
    }
}

const WIDE: (u16, u16) = (108, 30);
const ROLL: u16 = 40;
/// Columns of a name that is typed: 24 characters of two columns, and the cursor.
const LONGEST_NAME: usize = 49;
const CANNOT_SAVE: &str = "The server cannot save answers just now. The open round will not \
                           count. Free space on its disk, or wait.";
const PICTURE: &str = "Control-P";
const HELP: [(&str, &str); 12] = [
    ("Space", "the next step, as the line \"Next\" says"),
    ("p", "stops the time, or lets it run again"),
    ("k", "skips the round; it does not count"),
    ("e", "ends the review"),
    ("Tab", "the next pane; arrows and Page move in it"),
    ("j", "how to join, and back"),
    ("t", "on the roll: more time for the one chosen"),
    ("r  or  n", "on the roll: removes, or gives a new name"),
    ("v", "shows or hides what the class must not see"),
    (PICTURE, "a picture in words, or as a picture again"),
    ("?  or  F1", "this help"),
    ("q", "leaves; the review is not ended by it"),
];
const HELP_MORE: [&str; 1] = ["Press any key to go back."];

#[cfg(test)]
mod tests;
