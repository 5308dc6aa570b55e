//! The short form for the instructor's console.

use std::cmp::Reverse;

use myonym_content::{Contrast, MuscleKey};
use myonym_wire::{DifferenceShown, HardRow, MapCell, PairRow, WeakSpots};

use crate::rows::{ConfusedPair, Hard};
use crate::tally::Tally;

/// The weak spots so far as they go over the wire: at most `most` muscles and `most` pairs.
///
/// `contrast` sets the muscle asked (first) against the muscle answered (second), such as
/// [`Course::contrast`](myonym_content::Course::contrast). Muscles that everybody knew are no weak
/// spots and are left out.
pub fn weak_spots(
    contrast: impl Fn(&MuscleKey, &MuscleKey) -> Option<Contrast>,
    tally: &Tally,
    most: usize,
) -> WeakSpots {
    let missed = tally.hardest().into_iter().filter(|hard| hard.right < hard.asked);
    let pairs = tally.pairs();
    let mut commonest: Vec<&ConfusedPair> = pairs.iter().collect();
    commonest.sort_by_key(|pair| Reverse(pair.count));
    WeakSpots {
        hardest: missed.take(most).map(hard_row).collect(),
        map: commonest.into_iter().take(MOST_CELLS).map(map_cell).collect(),
        pairs: pairs.into_iter().take(most).map(|pair| pair_row(&contrast, pair)).collect(),
    }
}

/// Cells of the map that are told at most.
const MOST_CELLS: usize = 400;

fn hard_row(hard: Hard) -> HardRow {
    HardRow {
        muscle: hard.name,
        right: hard.right,
        asked: hard.asked,
        low: hard.rate_right.low,
        high: hard.rate_right.high,
    }
}

fn map_cell(pair: &ConfusedPair) -> MapCell {
    let (asked, said) = (pair.asked_name.clone(), pair.said_name.clone());
    MapCell { asked, said, count: pair.count, of: pair.of }
}

fn pair_row(
    contrast: &impl Fn(&MuscleKey, &MuscleKey) -> Option<Contrast>,
    pair: ConfusedPair,
) -> PairRow {
    let most_telling =
        contrast(&pair.asked, &pair.said).and_then(|contrast| contrast.apart.into_iter().next());
    PairRow {
        asked: pair.asked_name,
        said: pair.said_name,
        count: pair.count,
        of: pair.of,
        apart: most_telling.map(|difference| DifferenceShown {
            aspect: difference.aspect,
            asked: difference.first,
            said: difference.second,
        }),
    }
}
