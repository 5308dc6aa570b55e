//! Large letters for a join word, so that it can be read from the last row.
//!
//! Five dots high and mostly three wide, drawn two dots to a sign, so a word takes three rows.

/// The rows of a word in large letters; the letters are a column apart. A sign without a large
/// form is left out.
pub(crate) fn letters(word: &str) -> Vec<String> {
    let mut rows = vec![String::new(); HEIGHT.div_ceil(2)];
    for letter in word.chars() {
        let Some(form) = form(letter.to_ascii_lowercase()) else { continue };
        let dots: Vec<Vec<bool>> =
            form.split(' ').map(|row| row.chars().map(|dot| dot == '1').collect()).collect();
        for (at, row) in rows.iter_mut().enumerate() {
            let (upper, lower) = (&dots[at * 2], dots.get(at * 2 + 1));
            for (column, upper) in upper.iter().enumerate() {
                let lower = lower.is_some_and(|lower| lower[column]);
                row.push(match (upper, lower) {
                    (true, true) => '█',
                    (true, false) => '▀',
                    (false, true) => '▄',
                    (false, false) => ' ',
                });
            }
            row.push(' ');
        }
    }
    rows
}

/// Columns that a word takes in large letters.
pub(crate) fn columns(word: &str) -> usize {
    letters(word).first().map_or(0, |row| row.chars().count())
}

#[rustfmt::skip]
fn form(letter: char) -> Option<&'static str> {
    Some(match letter {
        'a' => "010 101 111 101 101",
        'b' => "110 101 110 101 110",
        'c' => "011 100 100 100 011",
        'd' => "110 101 101 101 110",
        'e' => "111 100 110 100 111",
        'f' => "111 100 110 100 100",
        'g' => "011 100 101 101 011",
        'h' => "101 101 111 101 101",
        'i' => "111 010 010 010 111",
        'j' => "001 001 001 101 010",
        'k' => "101 101 110 101 101",
        'l' => "100 100 100 100 111",
        'm' => "10001 11011 10101 10001 10001",
        'n' => "1001 1101 1011 1001 1001",
        'o' => "010 101 101 101 010",
        'p' => "110 101 110 100 100",
        'q' => "0110 1001 1001 1010 0101",
        'r' => "110 101 110 101 101",
        's' => "011 100 010 001 110",
        't' => "111 010 010 010 010",
        'u' => "101 101 101 101 111",
        'v' => "101 101 101 101 010",
        'w' => "10001 10001 10101 11011 10001",
        'x' => "101 101 010 101 101",
        'y' => "101 101 010 010 010",
        'z' => "111 001 010 100 111",
        '-' => "000 000 111 000 000",
        _ => return None,
    })
}

const HEIGHT: usize = 5;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_letter_of_a_join_word_has_a_form_of_its_own() {
        let forms: std::collections::BTreeSet<_> =
            ('a'..='z').chain(['-']).map(|letter| form(letter).unwrap()).collect();
        assert_eq!(forms.len(), 27);
        for form in forms {
            let rows: Vec<_> = form.split(' ').collect();
            assert_eq!(rows.len(), HEIGHT, "{form}");
            assert!(rows.iter().all(|row| row.len() == rows[0].len()), "{form}");
        }
    }

    #[test]
    fn letters_are_drawn_two_dots_to_a_sign() {
        assert_eq!(letters("La"), ["█   ▄▀▄ ", "█   █▀█ ", "▀▀▀ ▀ ▀ "]);
        assert_eq!(columns("La"), 8);
        assert_eq!(columns("?"), 0);
    }
}
