//! Whether a whole table of confusions leans one way.
//!
//! Bowker asks whether each pair is as often confused one way as the other; Stuart and Maxwell,
//! whether each category is answered as often as it is asked. Both take it that all were asked
//! equally often.

use crate::linear::Symmetric;
use crate::{ChiSquare, Square};

/// Bowker's test of symmetry: `Σ (n_ij - n_ji)² / (n_ij + n_ji)` over the pairs that were confused at
/// all, which are also the degrees of freedom. `None` if there are none.
///
/// Bowker AH 1948, J. Am. Stat. Assoc. 43:572-574. Of two categories it is McNemar's test.
pub fn bowker(table: &Square) -> Option<ChiSquare> {
    let (mut statistic, mut freedom) = (0.0, 0);
    for (a, b) in table.pairs() {
        let (there, back) = (table.at(a, b), table.at(b, a));
        if there + back > 0.0 {
            statistic += (there - back).powi(2) / (there + back);
            freedom += 1;
        }
    }
    ChiSquare::new(statistic, freedom)
}

/// The Stuart-Maxwell test that row and column totals agree: `d' V⁻¹ d` with `d_i = n_i. - n_.i`,
/// `V_ii = n_i. + n_.i - 2 n_ii` and `V_ij = -(n_ij + n_ji)`. `None` if nothing was confused.
///
/// Stuart A 1955, Biometrika 42:412-416; Maxwell AE 1970, Br. J. Psychiatry 116:651-655. V always
/// lacks a rank, and one more for each further group of categories that are never confused with the
/// rest; its rank is the degrees of freedom.
pub fn stuart_maxwell(table: &Square) -> Option<ChiSquare> {
    let size = table.size();
    let mut lean = vec![0.0; size];
    let mut spread = Symmetric::zero(size);
    for (a, b) in table.pairs() {
        let (there, back) = (table.at(a, b), table.at(b, a));
        lean[a] += there - back;
        lean[b] -= there - back;
        spread.add(a, a, there + back);
        spread.add(b, b, there + back);
        spread.add(a, b, -(there + back));
    }
    let (statistic, rank) = spread.inverse_form(lean);
    ChiSquare::new(statistic.max(0.0), rank)
}

/// Bhapkar's form of [`stuart_maxwell`], S / (1 - S/N) with N all answers: somewhat more powerful.
/// `None` where that is, or if every answer is a confusion one way.
///
/// Bhapkar VP 1966, J. Am. Stat. Assoc. 61:228-235.
pub fn bhapkar(table: &Square) -> Option<ChiSquare> {
    let stuart = stuart_maxwell(table)?;
    let rest = 1.0 - stuart.statistic / table.total();
    if rest > ROUNDING { ChiSquare::new(stuart.statistic / rest, stuart.freedom) } else { None }
}

/// A remainder below it is none.
const ROUNDING: f64 = 1e-12;
