//! The frame of every screen: a heading, thin rules, notices, and the keys at the foot.

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::{Clear, Paragraph};

use crate::text;
use crate::theme::Theme;

/// Smallest window that the screens are made for: columns and rows.
pub(crate) const SMALLEST: (u16, u16) = (60, 20);

/// What stands around the body of a screen.
#[derive(Debug, Clone, Default)]
pub(crate) struct Plate {
    /// Heading on the left.
    pub(crate) left: String,
    /// Heading on the right.
    pub(crate) right: String,
    /// Sentences that must be seen, most pressing first.
    pub(crate) notices: Vec<String>,
    /// Lines above the keys, each with what it is about in five letters at most.
    pub(crate) foot: Vec<(&'static str, String)>,
    /// Keys and what they do, most used first; those that do not fit are left out.
    pub(crate) keys: Vec<(&'static str, &'static str)>,
}

impl Plate {
    /// Draws the frame and gives the place of the body; `None` if the window is too small, which
    /// is then said in place of everything.
    pub(crate) fn draw(&self, frame: &mut Frame<'_>) -> Option<Rect> {
        let area = frame.area();
        if area.width < SMALLEST.0 || area.height < SMALLEST.1 {
            too_small(frame);
            return None;
        }
        let notices = self.notice_lines(area.width);
        let foot_lines = self.foot_lines(area.width);
        let rows = Layout::vertical([
            Constraint::Length(1),
            Constraint::Length(1),
            Constraint::Min(1),
            Constraint::Length(rows_of(&notices)),
            Constraint::Length(1),
            Constraint::Length(rows_of(&foot_lines)),
            Constraint::Length(1),
        ]);
        let [head, rule, body, notice, foot_rule, foot, keys] = rows.areas(area);
        frame.render_widget(self.heading(head.width), head);
        frame.render_widget(rule_line(rule.width), rule);
        frame.render_widget(Paragraph::new(notices), notice);
        frame.render_widget(rule_line(foot_rule.width), foot_rule);
        frame.render_widget(Paragraph::new(foot_lines), foot);
        frame.render_widget(self.key_line(keys.width), keys);
        Some(indent(body))
    }

    fn heading(&self, width: u16) -> Line<'static> {
        let room = usize::from(width).saturating_sub(2);
        let right = text::fit(&self.right, room / 2);
        let left = text::pad(&self.left, room.saturating_sub(text::width(&right) + 1));
        Line::from(vec![
            Span::raw(" "),
            Span::styled(left, Theme::STRONG),
            Span::raw(" "),
            Span::raw(right),
        ])
    }

    fn notice_lines(&self, width: u16) -> Vec<Line<'static>> {
        let room = usize::from(width).saturating_sub(4);
        let wrapped = self.notices.iter().flat_map(|notice| {
            let lines = text::wrap(notice, room).into_iter().take(MOST_NOTICE_ROWS);
            lines.enumerate().map(|(row, line)| (if row == 0 { "!" } else { " " }, line))
        });
        let line = |(mark, line): (&str, String)| {
            Line::styled(format!(" {mark} {} ", text::pad(&line, room)), Theme::ALERT)
        };
        wrapped.map(line).collect()
    }

    fn foot_lines(&self, width: u16) -> Vec<Line<'static>> {
        let room = usize::from(width).saturating_sub(8);
        let line = |(about, said): &(&str, String)| {
            let about = Span::raw(format!(" {} ", text::pad(about, 5)));
            Line::from(vec![about, Span::styled(text::fit(said, room), Theme::STRONG)])
        };
        self.foot.iter().map(line).collect()
    }

    fn key_line(&self, width: u16) -> Line<'static> {
        let mut spans = vec![Span::raw(" ")];
        let mut used = 1;
        for (key, what) in &self.keys {
            used += text::width(key) + text::width(what) + 3;
            if used > usize::from(width) {
                break;
            }
            spans.push(Span::styled(*key, Theme::STRONG));
            spans.push(Span::raw(format!(" {what}  ")));
        }
        Line::from(spans)
    }
}

/// Draws a page that may be longer than its place, moved down by `scroll` lines, and says at its
/// foot if there is more. Gives the furthest that it can be moved.
pub(crate) fn page(
    frame: &mut Frame<'_>,
    area: Rect,
    lines: Vec<Line<'static>>,
    scroll: u16,
) -> u16 {
    let height = rows_of(&lines);
    if height <= area.height {
        frame.render_widget(Paragraph::new(lines), area);
        return 0;
    }
    let [body, foot] = Layout::vertical([Constraint::Min(0), Constraint::Length(1)]).areas(area);
    let end = height.saturating_sub(body.height);
    let scroll = scroll.min(end);
    let way = match (scroll > 0, scroll < end) {
        (true, true) => "more above and below",
        (true, false) => "more above",
        (false, _) => "more below",
    };
    frame.render_widget(Paragraph::new(lines).scroll((scroll, 0)), body);
    frame.render_widget(Line::styled(format!("({way}: Up, Down, Page)"), Theme::RULE), foot);
    end
}

/// Draws keys and their meaning over the body.
pub(crate) fn help(
    frame: &mut Frame<'_>,
    area: Rect,
    rows: &[(&'static str, &'static str)],
    more: &[&str],
) {
    frame.render_widget(Clear, area);
    let width = usize::from(area.width);
    let mut lines = vec![Line::styled("Keys", Theme::STRONG)];
    for (key, what) in rows {
        for (row, part) in text::wrap(what, width.saturating_sub(HELP_KEY)).into_iter().enumerate()
        {
            let name = text::pad(if row == 0 { key } else { "" }, HELP_KEY);
            lines.push(Line::from(vec![Span::styled(name, Theme::STRONG), Span::raw(part)]));
        }
    }
    for sentence in more {
        lines.push(Line::default());
        lines.extend(text::wrap(sentence, width).into_iter().map(Line::raw));
    }
    frame.render_widget(Paragraph::new(lines), area);
}

/// A thin rule across `width` columns.
pub(crate) fn rule_line(width: u16) -> Line<'static> {
    Line::styled("─".repeat(usize::from(width)), Theme::RULE)
}

/// Number of lines, as rows of a screen.
pub(crate) fn rows_of(lines: &[Line<'_>]) -> u16 {
    u16::try_from(lines.len()).unwrap_or(u16::MAX)
}

fn indent(area: Rect) -> Rect {
    Rect { x: area.x + 1, width: area.width.saturating_sub(2), ..area }
}

fn too_small(frame: &mut Frame<'_>) {
    let area = frame.area();
    let (columns, rows) = SMALLEST;
    let said = format!(
        "This window is too small: {} by {}. Myonym needs {columns} columns by {rows} rows. Make \
         the window larger or the letters smaller.",
        area.width, area.height
    );
    let lines: Vec<_> =
        text::wrap(&said, usize::from(area.width)).into_iter().map(Line::raw).collect();
    frame.render_widget(Paragraph::new(lines), area);
}

const MOST_NOTICE_ROWS: usize = 3;
const HELP_KEY: usize = 16;
