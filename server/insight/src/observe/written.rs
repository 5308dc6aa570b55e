//! An answer as this program writes it, read field by field in the order in which it stands.
//!
//! A parser of JSON must take the fields in any order and any dress; a log of our own has one. What
//! stands otherwise is left to the parser, so that this is a short way and never another meaning.

use std::borrow::Cow;

use myonym_engine::SpellingFound;
use myonym_wire::{RoundNo, StudentId};
use uuid::Uuid;

use super::lean::LeanAnswer;

impl<'a> LeanAnswer<'a> {
    /// Reads a logged answer on a muscle; `None` if anything stands otherwise than it is written.
    pub(super) fn written(json: &'a str) -> Option<Self> {
        let mut rest = Rest(json);
        rest.skip(r#"{"kind":"answered","round":"#)?;
        let round = RoundNo(rest.number()?);
        rest.skip(r#","student":"#)?;
        let student = StudentId(Uuid::try_parse(rest.text()?).ok()?);
        rest.skip(r#","attempt":"#)?;
        rest.text()?;
        rest.skip(r#","typed":"#)?;
        let typed = Cow::Borrowed(rest.text()?);
        rest.skip(r#","said":"#)?;
        let said = rest.unless_null(Rest::text).ok()?.map(Cow::Borrowed);
        rest.skip(r#","movement":null,"said_name":"#)?;
        let said_name = rest.unless_null(Rest::text).ok()?.map(Cow::Borrowed);
        rest.skip(r#","spelling":"#)?;
        let spelling = spelling(rest.text()?)?;
        rest.skip(r#","exact":"#)?;
        let exact = rest.truth()?;
        rest.skip(r#","credit":"#)?;
        let credit = rest.share()?;
        rest.skip(r#","elapsed_ms":"#)?;
        let elapsed_ms = rest.number()?;
        rest.skip(r#","limit_ms":"#)?;
        rest.unless_null(Rest::number::<u32>).ok()?;
        rest.skip(r#","clues":"#)?;
        let clues = rest.number()?;
        rest.skip(r#","hasty":"#)?;
        rest.truth()?;
        (rest.0 == "}").then_some(Self {
            round,
            student,
            typed,
            said,
            said_name,
            spelling,
            exact,
            credit,
            elapsed_ms,
            clues,
        })
    }
}

fn spelling(text: &str) -> Option<SpellingFound> {
    match text {
        "exact" => Some(SpellingFound::Exact),
        "misspelt" => Some(SpellingFound::Misspelt),
        "no_such_name" => Some(SpellingFound::NoSuchName),
        _ => None,
    }
}

/// It stands otherwise than it is written.
struct Otherwise;

/// What is still to be read.
struct Rest<'a>(&'a str);

impl<'a> Rest<'a> {
    fn skip(&mut self, expected: &str) -> Option<()> {
        self.0 = self.0.strip_prefix(expected)?;
        Some(())
    }

    fn unless_null<T>(
        &mut self,
        read: impl FnOnce(&mut Self) -> Option<T>,
    ) -> Result<Option<T>, Otherwise> {
        match self.skip("null") {
            Some(()) => Ok(None),
            None => read(self).map(Some).ok_or(Otherwise),
        }
    }

    /// A text in quotes with nothing in it that JSON writes otherwise.
    fn text(&mut self) -> Option<&'a str> {
        self.skip("\"")?;
        let end = plain(self.0.as_bytes());
        let (text, rest) = self.0.split_at_checked(end)?;
        self.0 = rest;
        self.skip("\"")?;
        Some(text)
    }

    fn truth(&mut self) -> Option<bool> {
        match self.skip("true") {
            Some(()) => Some(true),
            None => self.skip("false").map(|()| false),
        }
    }

    /// A whole number without a sign.
    fn number<N: TryFrom<u64>>(&mut self) -> Option<N> {
        let mut number = 0_u64;
        for digit in self.digits()?.bytes() {
            number = number.checked_mul(10)?.checked_add(u64::from(digit - b'0'))?;
        }
        N::try_from(number).ok()
    }

    /// A number such as `0.25`: digits, a point, digits.
    fn share(&mut self) -> Option<f64> {
        let start = self.0;
        self.digits()?;
        self.skip(".")?;
        let after = self.0.bytes().take_while(u8::is_ascii_digit).count();
        self.0 = self.0.get(after..).filter(|_| after > 0)?;
        let read = start.len() - self.0.len();
        match start.get(..read)? {
            "0.0" => Some(0.0),
            "1.0" => Some(1.0),
            between => between.parse().ok(),
        }
    }

    /// Digits without a zero too many before them.
    fn digits(&mut self) -> Option<&'a str> {
        let count = self.0.bytes().take_while(u8::is_ascii_digit).count();
        let (digits, rest) = self.0.split_at_checked(count)?;
        self.0 = rest;
        (!digits.is_empty() && (count == 1 || !digits.starts_with('0'))).then_some(digits)
    }
}

/// How many bytes come before the first quote, backslash or control character.
///
/// Texts are most of an answer, so eight bytes are looked at together: with 0x01 taken from each, the
/// highest bit of a byte that was 0 is set, and of those before it none that was not set already. The
/// same finds what lies below 0x20, and a quote or backslash made 0 by what it is.
fn plain(text: &[u8]) -> usize {
    const EACH: u64 = 0x0101_0101_0101_0101;
    const HIGH: u64 = 0x80 * EACH;
    let below = |bytes: u64, limit: u64| bytes.wrapping_sub(limit * EACH) & !bytes & HIGH;
    let is = |bytes: u64, byte: u8| below(bytes ^ (u64::from(byte) * EACH), 1);
    let (eights, rest) = text.as_chunks::<8>();
    for (at, eight) in eights.iter().enumerate() {
        let eight = u64::from_le_bytes(*eight);
        let ends = is(eight, b'"') | is(eight, b'\\') | below(eight, 0x20);
        if ends != 0 {
            return 8 * at + usize::try_from(ends.trailing_zeros() / 8).unwrap_or_default();
        }
    }
    let end = |byte: &u8| matches!(byte, b'"' | b'\\' | ..b' ');
    8 * eights.len() + rest.iter().position(end).unwrap_or(rest.len())
}

#[cfg(test)]
mod tests {
    use myonym_content::MuscleKey;
    use myonym_engine::{Answer, Event};
    use myonym_wire::AttemptId;
    use proptest::prelude::*;

    use super::*;

    prop_compose! {
        fn answers()(
            (round, student, attempt) in (any::<u16>(), any::<u128>(), any::<u128>()),
            typed in any::<String>(),
            said in proptest::option::of("[a-z-]{0,20}"),
            said_name in proptest::option::of(any::<String>()),
            spelling in prop_oneof![
                Just(SpellingFound::Exact),
                Just(SpellingFound::Misspelt),
                Just(SpellingFound::NoSuchName),
            ],
            (exact, credit, hasty) in (any::<bool>(), 0.0..=1.0, any::<bool>()),
            (elapsed_ms, limit_ms, clues) in (any::<u64>(), any::<Option<u32>>(), any::<u8>()),
        ) -> Answer {
            Answer {
                round: RoundNo(round),
                student: StudentId(Uuid::from_u128(student)),
                attempt: AttemptId(Uuid::from_u128(attempt)),
                typed,
                said: said.map(MuscleKey::new),
                movement: None,
                said_name,
                spelling,
                exact,
                credit,
                elapsed_ms,
                limit_ms,
                clues,
                hasty,
            }
        }
    }

    /// The parser of JSON is the judge (RFC 8259, as `serde_json` reads it).
    fn parsed(json: &str) -> Option<LeanAnswer<'_>> {
        serde_json::from_str(json).ok()
    }

    proptest! {
        #[test]
        fn what_is_written_is_read_as_the_parser_reads_it(answer in answers()) {
            let json = myonym_wire::encode(&Event::Answered(answer));
            if let Some(found) = LeanAnswer::written(&json) {
                prop_assert_eq!(Some(found), parsed(&json));
            }
            prop_assert_eq!(LeanAnswer::parse(&json).ok(), parsed(&json));
        }

        /// A byte changed, put in or left out: never read as anything but the parser would.
        #[test]
        fn a_changed_text_is_never_read_otherwise(
            answer in answers(), at in any::<prop::sample::Index>(), to in "[ -~]{0,2}",
        ) {
            let mut json = myonym_wire::encode(&Event::Answered(answer));
            let at = at.index(json.len());
            if json.is_char_boundary(at) && json.is_char_boundary(at + 1) {
                json.replace_range(at..=at, &to);
                if let Some(found) = LeanAnswer::written(&json) {
                    prop_assert_eq!(Some(found), parsed(&json));
                }
            }
        }
    }

    /// Without this the short way could be out of use, and nobody would notice.
    #[test]
    fn a_plain_answer_takes_the_short_way() {
        let json = r#"{"kind":"answered","round":1,"student":"748e7b3c-e24a-412c-8197-f046c2cc5873","attempt":"9fbad983-2432-7cee-3327-97a368e359f2","typed":"vastus","said":null,"movement":null,"said_name":"vastus lateralis","spelling":"exact","exact":true,"credit":0.25,"elapsed_ms":18112,"limit_ms":45000,"clues":1,"hasty":false}"#;
        let found = LeanAnswer::written(json).expect("it is as it is written");
        assert_eq!(Some(&found), parsed(json).as_ref());
        let event: Event = serde_json::from_str(json).expect("an event");
        assert_eq!(myonym_wire::encode(&event), json);
    }
}
