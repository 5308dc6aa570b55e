//! Counting edits between many texts: letters made ready once, and one piece of memory for all.

/// A text letter by letter.
#[derive(Debug, Clone, Default)]
pub(crate) struct Spelt {
    letters: Vec<char>,
    kinds: u32,
}

impl Spelt {
    pub(crate) fn of(text: &str) -> Self {
        let letters: Vec<char> = text.chars().collect();
        Self { kinds: kinds(&letters), letters }
    }

    /// All of it.
    pub(crate) fn letters(&self) -> Letters<'_> {
        Letters { letters: &self.letters, kinds: self.kinds }
    }

    /// Its last letters; `None` unless there are more.
    pub(crate) fn end(&self, count: usize) -> Option<Letters<'_>> {
        let cut = self.letters.len().checked_sub(count).filter(|cut| *cut > 0)?;
        let letters = &self.letters[cut..];
        Some(Letters { letters, kinds: kinds(letters) })
    }
}

/// A text, or the end of one.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Letters<'a> {
    letters: &'a [char],
    /// Which Latin letters are in it.
    kinds: u32,
}

impl Letters<'_> {
    pub(crate) fn count(self) -> usize {
        self.letters.len()
    }

    /// A quick lower bound of the edits: an edit adds or takes away one letter at most, and one kind
    /// of letter at most.
    fn at_least(self, other: Self) -> usize {
        let strange = |a: u32, b: u32| (a & !b).count_ones() as usize;
        let strange = strange(self.kinds, other.kinds).max(strange(other.kinds, self.kinds));
        self.count().abs_diff(other.count()).max(strange)
    }
}

fn kinds(letters: &[char]) -> u32 {
    let latin = letters.iter().filter(|letter| letter.is_ascii_lowercase());
    latin.fold(0, |set, letter| set | 1 << (u32::from(*letter) - u32::from('a')))
}

/// Counts edits. One counts for any number of pairs, without asking for memory again.
#[derive(Debug, Default)]
pub(crate) struct Counter {
    /// Edits from each start of one text to each start of the other, row after row.
    edits: Vec<usize>,
    /// For each letter of the other text, the last row that has it; 0 where none has.
    met: Vec<usize>,
}

impl Counter {
    /// Edits between two texts as [`edits`](crate::spelling::edits) counts them, if there are at
    /// most so many.
    pub(crate) fn within(&mut self, most: usize, a: Letters<'_>, b: Letters<'_>) -> Option<usize> {
        if a.at_least(b) > most {
            return None;
        }
        let width = b.count() + 1;
        self.edits.clear();
        self.edits.extend(0..width);
        self.met.clear();
        self.met.resize(width, 0);
        let mut before = 0;
        for (row, letter) in (1..).zip(a.letters) {
            let least = self.row(row, *letter, b.letters);
            // A swap may leap over one row that costs more, but not over two.
            if least > most && before > most {
                return None;
            }
            before = least;
        }
        self.edits.last().copied().filter(|edits| *edits <= most)
    }

    /// Adds the row of a letter; the least of it.
    fn row(&mut self, row: usize, letter: char, other: &[char]) -> usize {
        let width = other.len() + 1;
        let start = row * width;
        self.edits.push(row);
        let (mut least, mut left) = (row, row);
        // The last column before this one with the same letter.
        let mut same = 0;
        for (column, is_same) in (1..).zip(other.iter().map(|other| *other == letter)) {
            let above = start - width + column;
            let replaced = self.edits[above - 1] + usize::from(!is_same);
            let mut cell = replaced.min(self.edits[above] + 1).min(left + 1);
            let met = self.met[column];
            if met > 0 && same > 0 {
                // Two letters swapped, and all between them taken out and put in.
                let swapped = self.edits[(met - 1) * width + same - 1];
                cell = cell.min(swapped + (row - met) + (column - same) - 1);
            }
            if is_same {
                (same, self.met[column]) = (column, row);
            }
            self.edits.push(cell);
            (left, least) = (cell, least.min(cell));
        }
        least
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// An independent count of the same edits, by the algorithm of Zhao and Sahni (2019) as `strsim`
    /// has it.
    fn reference(a: &str, b: &str) -> usize {
        strsim::damerau_levenshtein(a, b)
    }

    proptest! {
        #[test]
        fn edits_are_those_of_another_program(a in "[a-dé]{0,9}", b in "[a-dé]{0,9}", most in 0..10_usize) {
            let (one, other) = (Spelt::of(&a), Spelt::of(&b));
            let mut counter = Counter::default();
            let expected = Some(reference(&a, &b)).filter(|edits| *edits <= most);
            prop_assert_eq!(counter.within(most, one.letters(), other.letters()), expected);
            // What was counted before leaves nothing behind.
            let back = counter.within(most, other.letters(), one.letters());
            prop_assert_eq!(back, expected);
        }

        #[test]
        fn an_end_is_a_text(text in "[a-e]{0,9}", other in "[a-e]{0,9}", count in 0..10_usize) {
            let spelt = Spelt::of(&text);
            let cut = text.len().checked_sub(count).filter(|cut| *cut > 0);
            let found = spelt.end(count).map(|end| {
                Counter::default().within(99, end, Spelt::of(&other).letters())
            });
            prop_assert_eq!(found, cut.map(|cut| Some(reference(&text[cut..], &other))));
        }
    }
}
