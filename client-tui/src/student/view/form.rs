//! The form.

use ratatui::Frame;
use ratatui::layout::{Position, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

use crate::line::LineInput;
use crate::parts;
use crate::plate;
use crate::student::form::{Field, Form};
use crate::student::model::Model;
use crate::text;
use crate::theme::Theme;

/// Draws the form.
pub(super) fn draw(frame: &mut Frame<'_>, area: Rect, model: &Model) -> u16 {
    let mut page = Page { form: &model.form, area, lines: Vec::new(), cursor: None };
    page.lines.extend([Line::default(), Line::styled(title(&model.form), Theme::STRONG)]);
    page.lines.extend(parts::paragraph(INVITATION, usize::from(area.width)));
    page.lines.push(Line::default());
    page.input(Field::Address, "Address or link", &model.form.address);
    if !model.form.gathers {
        page.input(Field::Word, "Join word", &model.form.word);
    }
    page.input(Field::Name, "Your name", &model.form.name);
    page.choice();
    page.button();
    let Page { lines, cursor, .. } = page;
    if let Some(at) = cursor {
        frame.set_cursor_position(at);
    }
    let end = plate::rows_of(&lines).saturating_sub(area.height);
    frame.render_widget(Paragraph::new(lines), area);
    end
}

fn title(form: &Form) -> &'static str {
    if form.gathers { "Open a study group" } else { "Join a review" }
}

struct Page<'a> {
    form: &'a Form,
    area: Rect,
    lines: Vec<Line<'static>>,
    cursor: Option<Position>,
}

impl Page<'_> {
    fn input(&mut self, field: Field, label: &str, line: &LineInput) {
        let room = usize::from(self.area.width).saturating_sub(LABEL + 1);
        let (shown, cursor) = line.shown(room);
        if self.form.focus == field {
            let across = u16::try_from(LABEL + cursor).unwrap_or(u16::MAX);
            let down = plate::rows_of(&self.lines);
            self.cursor = Some(Position::new(self.area.x + across, self.area.y + down));
        }
        self.row(field, label, shown);
        self.fault(field);
    }

    fn choice(&mut self) {
        let mark = if self.form.listed { "[x]" } else { "[ ]" };
        self.row(Field::Listed, "Standings", format!("{mark} show my name to the class"));
        self.lines.push(Line::raw(format!("{}Space: yes or no.", " ".repeat(LABEL))));
        self.lines.push(Line::default());
    }

    fn button(&mut self) {
        let style = if self.form.focus == Field::Join { Theme::PICKED } else { Theme::STRONG };
        let button = if self.form.gathers { "[ Open ]" } else { "[ Join ]" };
        let gap = Span::raw(" ".repeat(LABEL));
        self.lines.push(Line::from(vec![gap, Span::styled(button, style)]));
    }

    fn row(&mut self, field: Field, label: &str, shown: String) {
        let focused = self.form.focus == field;
        let mark = if focused { "› " } else { "  " };
        let label = text::pad(&format!("{mark}{label}"), LABEL);
        let style = if focused { Theme::STRONG } else { ratatui::style::Style::new() };
        self.lines.push(Line::from(vec![Span::styled(label, style), Span::raw(shown)]));
    }

    /// What is wrong with a field stands under it; otherwise an empty line, so that nothing jumps.
    fn fault(&mut self, field: Field) {
        let Some((_, fault)) = self.form.fault.as_ref().filter(|(at, _)| *at == field) else {
            self.lines.push(Line::default());
            return;
        };
        let room = usize::from(self.area.width).saturating_sub(LABEL + 2);
        for (row, part) in text::wrap(fault, room).into_iter().enumerate() {
            let mark = if row == 0 { "! " } else { "  " };
            let said = format!("{}{mark}{part}", " ".repeat(LABEL));
            self.lines.push(Line::styled(said, Theme::STRONG));
        }
    }
}

const LABEL: usize = 20;
const INVITATION: &str = "A muscle is described by what it does and where it attaches. Name it.";
