//! Bars, always beside a number.

use myonym_wire::Millis;
use ratatui::text::{Line, Span};

use crate::theme::Theme;
use crate::words;

/// A bar of `width` columns, filled to `part` of `whole`.
pub(crate) fn bar(width: usize, part: u64, whole: u64) -> [Span<'static>; 2] {
    let (part, whole, room) = (u128::from(part.min(whole)), u128::from(whole), width as u128);
    let filled = (part * room).div_ceil(whole.max(1));
    let filled = usize::try_from(filled).unwrap_or(width).min(width);
    [Span::raw("█".repeat(filled)), Span::styled("·".repeat(width - filled), Theme::RULE)]
}

/// Time left of a limit, as a number and a bar.
pub(crate) fn time_line(
    width: usize,
    elapsed: Millis,
    limit_ms: u32,
    remark: &str,
) -> Line<'static> {
    let limit = Millis(limit_ms.into());
    let left = limit.minus(elapsed);
    let said = format!("Time left {:>6}  ", words::seconds(left));
    let room = width.saturating_sub(said.len() + remark.len() + 2).min(LONGEST);
    let mut spans = vec![Span::styled(said, Theme::STRONG)];
    spans.extend(bar(room, left.0, limit.0));
    spans.push(Span::raw(format!("  {remark}")));
    Line::from(spans)
}

const LONGEST: usize = 60;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bar_is_full_empty_or_between() {
        let check = |part: u64, whole: u64, want: &str| {
            let bar = bar(4, part, whole);
            assert_eq!(format!("{}{}", bar[0].content, bar[1].content), want, "{part} of {whole}");
        };
        check(0, 8, "····");
        check(4, 8, "██··");
        // A little is never drawn as nothing.
        check(1, 800, "█···");
        check(8, 8, "████");
        check(9, 8, "████");
        check(0, 0, "····");
        check(u64::MAX, u64::MAX, "████");
    }
}
