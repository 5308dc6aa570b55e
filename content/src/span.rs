//! Runs of ribs, vertebrae or digits, and spinal roots.

use std::str::FromStr;

use crate::model::Span;

/// Regions of the spine from the top, with how many vertebrae each has.
const VERTEBRAE: [(&str, usize); 5] = [("C", 7), ("T", 12), ("L", 5), ("S", 5), ("Co", 5)];

/// Regions of the spine from the top, with how many spinal nerves each has.
const ROOTS: [(&str, usize); 5] = [("C", 8), ("T", 12), ("L", 5), ("S", 5), ("Co", 1)];

/// Why a text is not a span.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum SpanError {
    /// It is neither a number nor a vertebra.
    #[error("write one or two numbers or vertebrae, such as `3-5`, `T2-T5` or `C1`")]
    Form,
    /// Its ends are of different kinds.
    #[error("a number and a vertebra do not make a span")]
    Mixed,
    /// It runs backwards.
    #[error("write the first before the last")]
    Backwards,
}

/// Reads `3-5`, `T2-T5` or `C1`.
impl FromStr for Span {
    type Err = SpanError;

    fn from_str(text: &str) -> Result<Self, SpanError> {
        let (from, to) = text.split_once('-').unwrap_or((text, text));
        let first = Point::parse(from).ok_or(SpanError::Form)?;
        let last = Point::parse(to).ok_or(SpanError::Form)?;
        if first.kind != last.kind {
            return Err(SpanError::Mixed);
        }
        if first.order > last.order {
            return Err(SpanError::Backwards);
        }
        Ok(Self { from: from.to_owned(), to: to.to_owned() })
    }
}

impl Span {
    /// First and last as places in their row, counted from the head downwards: ribs and digits by
    /// their number, vertebrae from C1 as 1 (so that T1 is 8). `None` if an end is neither.
    pub fn bounds(&self) -> Option<(usize, usize)> {
        let first = Point::parse(&self.from)?;
        let last = Point::parse(&self.to)?;
        Some((first.order, last.order))
    }

    /// Whether this run lies within another of the same kind.
    pub fn lies_within(&self, whole: &Self) -> bool {
        let point = |text: &str| Point::parse(text);
        match (point(&self.from), point(&self.to), point(&whole.from), point(&whole.to)) {
            (Some(from), Some(to), Some(first), Some(last)) => {
                from.kind == first.kind && first.order <= from.order && to.order <= last.order
            }
            _ => false,
        }
    }
}

/// Whether a text is a spinal root, such as `C8`.
pub(crate) fn parse_root(text: &str) -> bool {
    spinal(text, &ROOTS).is_some()
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Number,
    Vertebra,
}

/// One end of a span.
#[derive(Debug, Clone, Copy)]
struct Point {
    kind: Kind,
    order: usize,
}

impl Point {
    fn parse(text: &str) -> Option<Self> {
        match number(text) {
            Some(order) => Some(Self { kind: Kind::Number, order }),
            None => spinal(text, &VERTEBRAE).map(|order| Self { kind: Kind::Vertebra, order }),
        }
    }
}

/// A count from 1, in digits without leading zeros.
fn number(text: &str) -> Option<usize> {
    let plain = text.bytes().all(|byte| byte.is_ascii_digit()) && !text.starts_with('0');
    text.parse().ok().filter(|_| plain)
}

/// Place of a segment counted from the top of the spine, from 1.
fn spinal(text: &str, regions: &[(&str, usize)]) -> Option<usize> {
    let mut above = 0;
    for (letter, count) in regions {
        let inside = text.strip_prefix(letter).and_then(number).filter(|order| order <= count);
        if let Some(order) = inside {
            return Some(above + order);
        }
        above += count;
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spans() {
        let check = |text: &str, expected: Result<(usize, usize), SpanError>| {
            let found = text.parse::<Span>().map(|span| span.bounds().unwrap());
            assert_eq!(found, expected, "{text}");
        };
        check("3-5", Ok((3, 5)));
        check("C1", Ok((1, 1)));
        check("C7-T1", Ok((7, 8)));
        check("T7-L5", Ok((14, 24)));
        check("Co5", Ok((34, 34)));
        check("", Err(SpanError::Form));
        check("3-", Err(SpanError::Form));
        check("03", Err(SpanError::Form));
        check("C8", Err(SpanError::Form));
        check("T2 - T5", Err(SpanError::Form));
        check("2-T5", Err(SpanError::Mixed));
        check("T5-T2", Err(SpanError::Backwards));
    }

    #[test]
    fn within() {
        let check = |part: &str, whole: &str, expected: bool| {
            let [part, whole]: [Span; 2] = [part, whole].map(|text| text.parse().unwrap());
            assert_eq!(part.lies_within(&whole), expected, "{part} in {whole}");
        };
        check("1-8", "1-12", true);
        check("10-13", "1-12", false);
        check("T2-T5", "C1-Co5", true);
        check("2-5", "C1-Co5", false);
    }

    #[test]
    fn roots() {
        let check = |text: &str, expected: bool| assert_eq!(parse_root(text), expected, "{text}");
        check("C8", true);
        check("T1", true);
        check("Co1", true);
        check("C9", false);
        check("C5-C6", false);
        check("5", false);
    }
}
