//! How to join, to be read from afar.

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span, Text};
use ratatui::widgets::Paragraph;

use crate::big;
use crate::console::model::{Desk, Model};
use crate::parts;
use crate::plate;
use crate::text;
use crate::theme::Theme;
use crate::words;

/// Draws the join word, the link and, where there is room, the code to be scanned: below the text
/// or beside it.
pub(super) fn draw(frame: &mut Frame<'_>, area: Rect, model: &Model, desk: &Desk) {
    let (columns, rows) = size(&desk.scan);
    let note = model.join_note.as_deref();
    let mut text = lines(desk, note, area.width.into());
    let text_rows = plate::rows_of(&text);
    let code = desk.scan.iter().cloned().map(Line::raw).collect::<Text<'_>>();
    let code = Paragraph::new(code.style(model.theme.scan()));
    if desk.scan.is_empty() {
        frame.render_widget(Paragraph::new(text), area);
    } else if area.height > text_rows.saturating_add(rows) && area.width >= columns {
        let below = Rect { y: area.y + text_rows + 1, width: columns, height: rows, ..area };
        frame.render_widget(Paragraph::new(text), area);
        frame.render_widget(code, below);
    } else if area.width >= columns.saturating_add(LEAST_TEXT) && area.height >= rows {
        let layout = [Constraint::Min(1), Constraint::Length(columns)];
        let [left, right] = Layout::horizontal(layout).spacing(1).areas(area);
        frame.render_widget(Paragraph::new(lines(desk, note, left.width.into())), left);
        frame.render_widget(code, Rect { height: rows, ..right });
    } else {
        text.extend(parts::paragraph(NO_ROOM, area.width.into()));
        frame.render_widget(Paragraph::new(text), area);
    }
}

fn lines(desk: &Desk, note: Option<&str>, width: usize) -> Vec<Line<'static>> {
    let mut lines = vec![Line::styled("Join word", Theme::STRONG)];
    lines.extend(word_lines(desk.review.word.as_str(), width).into_iter().map(Line::raw));
    lines.push(Line::default());
    for (at, link) in desk.links.iter().take(MOST_LINKS).enumerate() {
        let label = if at == 0 { "Address  " } else { "  or     " };
        // As it has to be typed.
        let scheme = if link.secure { "https://" } else { "" };
        let address = Span::raw(format!("{scheme}{}", link.address));
        lines.push(Line::from(vec![Span::styled(label, Theme::STRONG), address]));
    }
    let best = desk.links.iter().take(1);
    lines.extend(best.flat_map(|link| link_lines(&link.to_string(), width)));
    lines.push(Line::default());
    lines.extend(parts::paragraph(HOW, width));
    lines.extend(note.iter().flat_map(|note| parts::paragraph(note, width)));
    let here = words::count(desk.roll.present(), "student is here", "students are here");
    lines.push(Line::styled(here, Theme::STRONG));
    lines
}

/// The link on one line, or broken where nobody takes the break for a sign of it.
fn link_lines(link: &str, width: usize) -> Vec<Line<'static>> {
    let label = Span::styled("Link     ", Theme::STRONG);
    let room = width.saturating_sub(label.width());
    let cut = if text::width(link) <= room { link.len() } else { link.find('?').unwrap_or(0) };
    let (head, tail) = link.split_at(cut);
    let mut lines = vec![Line::from(vec![label, Span::raw(head.to_owned())])];
    if !tail.is_empty() {
        lines.push(Line::raw(format!("{:9}{tail}", "")));
    }
    lines
}

/// The word in large letters: on one line, else a line for each bone; else spelled out.
fn word_lines(word: &str, width: usize) -> Vec<String> {
    if big::columns(word) <= width {
        return big::letters(word);
    }
    let bones: Vec<_> = word.split_inclusive('-').collect();
    if bones.iter().all(|bone| big::columns(bone) <= width) {
        return bones.into_iter().flat_map(big::letters).collect();
    }
    let spelled: Vec<_> = word.to_uppercase().chars().map(String::from).collect();
    text::wrap(&spelled.join(" "), width)
}

fn size(rows: &[String]) -> (u16, u16) {
    let columns = rows.iter().map(|row| text::width(row)).max().unwrap_or(0);
    (u16::try_from(columns).unwrap_or(u16::MAX), u16::try_from(rows.len()).unwrap_or(u16::MAX))
}

/// Columns that the text beside a code needs.
const LEAST_TEXT: u16 = 36;
const MOST_LINKS: usize = 3;
const NO_ROOM: &str = "A larger window shows a code to scan as well.";
const HOW: &str = "Start myonym-play and paste the link, or type address, word and name.";
